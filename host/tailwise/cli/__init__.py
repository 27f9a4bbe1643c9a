"""The command line: one module a command under `commands`, found by its file; nothing heavy loads before a command runs."""
