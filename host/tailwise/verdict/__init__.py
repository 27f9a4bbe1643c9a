"""Verdict, grade, coverage and exact bounds."""
