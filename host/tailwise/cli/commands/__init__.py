"""One module a command. Each has NAME (words as typed), HELP, `options(parser)` and `run(arguments) -> exit code`."""
