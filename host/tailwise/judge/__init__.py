"""Recording to findings document: the one way to a verdict, live or later."""
