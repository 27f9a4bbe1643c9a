"""Framing and messages of the wire protocol: bytes in, messages out, no input or output of its own."""
