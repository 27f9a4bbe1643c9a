"""The practice bench: a virtual board, membrane and operator behind the link's interface, speaking bytes like a board."""
