"""What is broken, where, how sure, and what to do next: observations in, findings out; pure."""
