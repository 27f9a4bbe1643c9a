"""Records to observations: presses, bounce, dropouts, gaps, what is unknown and why. A pure fold."""
