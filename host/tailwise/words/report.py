"""What the report says, to an owner or a buyer who knows nothing of matrices."""

from __future__ import annotations

VERDICT_HEADLINE = {
    "sound": "Every key works",
    "faulty": "Something is wrong",
    "unproven": "Nothing wrong found, but not everything was tested",
    "untestable": "This could not be tested",
}
VERDICT_SYMBOL = {"sound": "✓", "faulty": "✕", "unproven": "○", "untestable": "–"}

SUMMARY = {
    "sound": "All {keys} keys were pressed and each was read at least once; nothing unexplained was read, pressed or at rest.",
    "faulty": "{tried} of {keys} keys could be tested and {count} found: {kinds}.",
    "unproven": "{tried} of {keys} keys were tested and nothing wrong was seen in them; {untried} were not tested.",
    "untestable": "The test could not be carried out, so nothing is said about any key.",
}

KIND = {
    "open_line": "a line without contact",
    "cracked_tail": "a crack across the ribbon tail",
    "broken_trace": "a broken trace",
    "dead_contact": "a dead key",
    "weak_contact": "a weak key contact",
    "weak_line": "a line with too much resistance",
    "bouncing_contact": "a key that bounces too long",
    "short": "two lines joined",
    "leak": "two lines leaking into each other",
    "stuck_contact": "a key stuck closed",
    "intermittent_line": "a line that comes and goes",
    "intermittent_contact": "a key that comes and goes",
    "tail_misplaced": "a ribbon tail inserted the wrong way",
    "wrong_layout": "the wrong layout for this keyboard",
    "diode_fault": "a faulty diode",
    "foreign_voltage": "voltage from outside on a line",
    "harness_fault": "a fault of the test harness",
}

STATE_WORD = {
    "works": "works",
    "silent": "silent",
    "flickers": "unsteady",
    "weak": "weak",
    "stuck": "stuck closed",
    "doubtful": "doubtful",
    "untried": "not tested",
}
STATE_SYMBOL = {"works": "✓", "silent": "✕", "flickers": "≈", "weak": "▽", "stuck": "■", "doubtful": "?", "untried": "○"}

SURE = (
    (0.99, "practically certain"),
    (0.9, "very likely"),
    (0.7, "likely"),
    (0.4, "as likely as not"),
    (0.0, "one possibility"),
)

COVERAGE_KEYS = "{tried} of {keys} keys were tested with {presses} presses in all."
COVERAGE_BOUND = (
    "Counting presses alone, a key may still miss up to {percent} of its presses without having shown it here "
    "(95 % bound for the key pressed least)."
)
COVERAGE_UNTRIED = "Not tested: {keys}."
REST_DONE = "Joined and stuck lines were looked for with nothing pressed: checked."
REST_MISSING = "Joined and stuck lines were not looked for with nothing pressed."
FLEXED = "While the operator flexed the {zone}, {seconds} s were watched and {drops} drop-out(s) were read."
STILL = "Left alone, {seconds} s were watched and {drops} drop-out(s) were read."
NOT_FLEXED = "The film and its tails were not flexed while testing."
NOT_MEASURED = "Contact resistance was not measured; the harness read open or closed only."
MEASURED = "Contact resistance was measured on {count} keys: median {median}, highest {highest} ({key})."
BLIND = "For {seconds} s the link or the board could not be read; presses in that time count as not made."
WATCHED = "For {seconds} s single lines were watched without pause, in microseconds; the other keys were not read meanwhile."
LIMITS = (
    "The test covers the keyboard and the harness, not the computer's own socket and input chip.",
    "An opening shorter than one scan of the board ({scan} µs) may have gone unseen, and a line is watched only while a key "
    "on it is held.",
)

CAUTIONS = (
    "Take the keyboard off the computer and unplug the computer before testing or repairing; never test on a powered board.",
    "Old film is brittle: pull tails straight out, keep a bend radius of 2.5 mm or more, never bend at the connector's edge.",
    "Isopropyl alcohol is flammable and attacks some plastics. Never solder on film. Let conductive paint cure, then test for "
    "joined lines.",
    "Static can destroy input chips: touch ground first.",
    "Mains inside power supplies is for qualified people; follow your local rules.",
)
THAT_DAY = (
    "This page says what was read on the day of the test and promises nothing beyond it. "
    "Films of this age can crack in transport or storage."
)
VISIBLE_CRACK = "A film with a visible crack should not be trusted again, even if it works at the moment (common practice)."

NO_FINDINGS = "No fault was found."
PLACE_BETWEEN = "On line {line}, between the keys {after} and {before}."
PLACE_FIRST = "On line {line}, before its first key {before}, counted from the tail."
PLACE_LINE = "On line {line}, somewhere between the socket and its keys."
DISTANCE = "About {best:.0f} mm from the tail ({low:.0f} to {high:.0f} mm)."
ZONE = "It moves with the zone: {zone}."

LISTING_TITLE = "Keyboard test: {headline}"
LISTING_TAIL = "Tested {date} with {tool}. Recording {fingerprint}. Holds for that day."
LABEL_TEXT = "{label}\n{layout}\n{symbol} {verdict} / {grade}\n{date}  {fingerprint}"

NO_PHOTO = "{path}: not a picture that can be read ({error})"


def sureness(probability: float) -> str:
    """A probability 0..1 in words."""
    return next(word for floor, word in SURE if probability >= floor)


def count_of(number: int, singular: str) -> str:
    """'1 fault', '3 faults'."""
    return f"{number} {singular}" if number == 1 else f"{number} {singular}s"
