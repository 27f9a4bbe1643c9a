"""The instrument's own facts: which line of the board is which line of the keyboard."""
