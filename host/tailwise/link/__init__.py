"""One interface to a board, and the serial port behind it."""
