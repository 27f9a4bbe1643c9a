"""Reads and checks layout files: the one place that reads their YAML."""
