"""Runs a procedure on a link: joins link, recording and judge, and emits events."""
