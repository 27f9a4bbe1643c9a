"""The example on the page about recordings is a recording, and says what the page says of it."""

from __future__ import annotations

import re
from pathlib import Path

from tailwise.judge.judge import fed_judge
from tailwise.recording.format import Received, Sent
from tailwise.recording.reader import parse_recording
from tailwise.wire.frames import Frame, FrameSplitter, cobs_decode
from tailwise.wire.messages import MESSAGE_TYPES

PAGE = (Path(__file__).parents[2] / "firmware_spec" / "RECORDING.md").read_text(encoding="utf-8")


def example() -> str:
    found = re.search(r"```jsonl\n(.*?)```", PAGE, re.DOTALL)
    assert found is not None
    return found.group(1)


def test_the_example_is_whole_and_judged_as_the_page_says() -> None:
    recording = parse_recording(example().encode(), "example")
    assert recording.damage == ()
    judge = fed_judge(recording)
    document = judge.document()
    assert judge.notes == ()
    assert document["label"] == "written by hand"
    assert (document["verdict"], document["findings"]) == ("unproven", [])
    assert (document["coverage"]["keys"], document["coverage"]["tried"], document["coverage"]["presses"]) == (42, 1, 1)
    (press,) = judge.observations().presses
    assert (press.key, press.start_us, press.certain) == ("A", 2_500_080, True)
    assert document["link"] == {"frames": 6, "lost": 0, "bad": 0, "gaps": 0}


def test_the_table_names_the_frames_of_the_example() -> None:
    table = re.findall(r"^\| (\d+) \| (\d+) \| ([0-9a-f]{2}) (\w+) \| (\d+) \| .* \| ([0-9a-f]{4}) \|$", PAGE, re.MULTILINE)
    recording = parse_recording(example().encode(), "example")
    lines = dict(enumerate(example().splitlines(), start=1))
    assert len(table) == sum(isinstance(record, Received | Sent) for record in recording.records)
    for line, length, kind, name, number, check in table:
        raw = re.search(r'"[rt]x":"([^"]*)"', lines[int(line)])
        assert raw is not None
        decoded = cobs_decode(bytes.fromhex(raw.group(1))[:-1])
        assert decoded[-2:] == int(check, 16).to_bytes(2, "little")
        (frame,) = FrameSplitter().feed(bytes.fromhex(raw.group(1)))
        assert isinstance(frame, Frame)
        assert (frame.type, frame.number, len(frame.payload) + 6) == (int(kind, 16), int(number), int(length))
        assert MESSAGE_TYPES[frame.type].__name__.upper() == name.replace("_", "")
