"""tailwise: tests keyboard matrices and membranes and says what is broken, where, and how sure it is."""

__version__ = "0.1.0"
