"""The vocabulary every room shares: frozen types without behaviour beyond what their fields imply."""
