"""The story of a run on standard error."""

from __future__ import annotations

import sys

from tailwise.live import events
from tailwise.model.observation import LineHeld
from tailwise.words import commands as words


def tell(event: events.LiveEvent) -> None:
    """One line for events worth one; on a terminal, one line that changes for the keys seen so far."""
    terminal = sys.stderr.isatty()
    if isinstance(event, events.Progress):
        keys = event.snapshot.keys.values()
        seen = sum(1 for key in keys if key.presses)
        print(f"\r{words.progress(event.run_us / 1e6, seen, len(keys))} ", end="", file=sys.stderr, flush=True)
        return
    text = sentence(event)
    if text:
        print("\r\x1b[K" * terminal + text, file=sys.stderr, flush=True)


def sentence(event: events.LiveEvent) -> str:
    """What an event says; empty for those that come all the time."""
    match event:
        case events.Connecting(url=url):
            return words.connecting(url)
        case events.Connected(identity=who):
            version = f"{who.firmware_major}.{who.firmware_minor}.{who.firmware_patch}"
            checked = sum(byte.bit_count() for byte in who.checked_lines)
            return words.connected(who.board, version, who.line_count, checked)
        case events.WiringKept(how=how):
            return words.wiring_kept(how)
        case events.LinesChecked(held=held) as check:
            unchecked = sum(1 for each in held.values() if each is LineHeld.NOT_CHECKED)
            return words.lines_checked(len(check.held_lines), unchecked)
        case events.Started(run_us=run_us, again=again):
            return words.started(again, run_us / 1e6)
        case events.LinkDown(why=why, next_step=step):
            return words.link_down(why, step)
        case events.LinkUp(url=url):
            return words.link_up(url)
        case events.BoardRestarted(why=why):
            return words.restarted(why)
        case events.Refused(reason=reason, likely=likely, next_step=step):
            return words.refused(reason, likely, step)
        case events.Finished(recording=path, notes=notes):
            return "\n".join((*notes, *([] if path is None else [words.recorded(str(path))])))
        case _:
            return ""
