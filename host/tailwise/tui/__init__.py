"""The terminal app. Screens show and ask; what it means lies in procedure and live."""
