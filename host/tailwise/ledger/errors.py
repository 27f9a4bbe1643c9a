"""What can go wrong with a ledger, ready for a person to read."""

from __future__ import annotations


class LedgerError(ValueError):
    """Reason, likely cause and next step; the ledger was left as it was."""

    def __init__(self, reason: str, likely: str, next_step: str) -> None:
        super().__init__(f"{reason}. Likely cause: {likely}. Next step: {next_step}")
        self.reason = reason
        self.likely = likely
        self.next_step = next_step


class NotFound(LedgerError):
    """A label or run number the ledger does not hold."""
