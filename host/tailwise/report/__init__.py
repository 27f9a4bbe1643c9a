"""What leaves the bench: the page for the owner or buyer, tables, waveforms, texts for a listing and a label."""
