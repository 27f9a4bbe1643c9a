"""`tailwise try` without a terminal to show the app in: the same scenario, told on standard error, judged at its end."""

from __future__ import annotations

import sys

from tailwise.cli.result import print_document
from tailwise.cli.story import tell
from tailwise.live.events import Finished
from tailwise.live.run import Run, RunSettings
from tailwise.model.layout import Layout
from tailwise.words import commands as words


def run_trial(scenario: str, layout: Layout) -> int:
    """Run it as fast as it goes; 0 once a verdict is printed, whatever it says: this is a demonstration."""
    print(words.TRIAL, file=sys.stderr)
    settings = RunSettings(url=f"practice:{scenario}", layout=layout, every_key_pressed=True, progress_hz=0)
    for event in Run(settings).events():
        tell(event)
        if isinstance(event, Finished):
            print_document(event.document, event.data, as_json=False)
    return 0
