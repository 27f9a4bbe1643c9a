"""The recording format (firmware_spec/RECORDING.md): what was on the wire and what the operator did, nothing else."""
