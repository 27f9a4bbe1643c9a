"""What a diagnosis says to people: evidence and next steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

MOST_NAMED = 8


def seconds(at_us: int) -> str:
    """A run time."""
    return f"{at_us / 1e6:.3f} s"


def milliseconds(length_us: int) -> str:
    """A short length of time."""
    return f"{length_us / 1e3:.3g} ms"


def length(length_us: int) -> str:
    """A length of time that may be microseconds."""
    return f"{length_us} us" if length_us < 1000 else milliseconds(length_us)


def several(names: Iterable[str]) -> str:
    """Names in a row, the tail of a long list counted."""
    listed = list(names)
    if len(listed) > MOST_NAMED:
        return f"{', '.join(listed[:MOST_NAMED])} and {len(listed) - MOST_NAMED} more"
    return ", ".join(listed)


def times(count: int) -> str:
    """How often."""
    return "once" if count == 1 else "twice" if count == 2 else f"{count} times"


def silent_key(key: str, asked: Sequence[int], stated: bool) -> str:
    """A key that was asked for and never closed."""
    if asked:
        return f"{key} was asked for {times(len(asked))} ({several(seconds(at) for at in asked)}) and never closed"
    return (
        f"{key} never closed in the whole run, and the operator states that it was pressed" if stated else f"{key} never closed"
    )


def silent_keys(keys: Sequence[str], stated: bool) -> str:
    """Several keys that never closed."""
    why = "although the operator states that every key was pressed" if stated else "although each was asked for"
    return f"{several(keys)} never closed, {why}"


def working(key: str, line: str, at_us: int, frame: int) -> str:
    """A key that clears a line, and the record that shows it."""
    return f"{line} works: {key} closed at {seconds(at_us)} (frame {frame})"


def none_on_line(line: str, count: int) -> str:
    """No key of a line was seen."""
    return f"none of the {count} keys on {line} that were tried closed"


def not_tried(keys: Sequence[str]) -> str:
    """Keys that would tell but were not tried."""
    return f"not tried, so nothing is known of them: {several(keys)}"


def near_part(line: str, key: str, at_us: int, frame: int) -> str:
    """The last good key before a break."""
    return f"{line} is whole as far as {key}, which closed at {seconds(at_us)} (frame {frame})"


def far_part(line: str, keys: Sequence[str]) -> str:
    """The keys beyond a break."""
    return f"further along {line} nothing closes: {several(keys)}"


def route_unknown(line: str) -> str:
    """No place without a route."""
    return f"the layout has no route for {line} (route unknown), so no place along it can be named"


def crack(tail_lines: Sequence[str]) -> str:
    """One crack explains several lines."""
    return f"{several(tail_lines)} lie side by side at an edge of the tail: one crack explains them all"


def dropout(lost: Sequence[str], kept: Sequence[str], at_us: int, longest_us: int, openings: int) -> str:
    """An episode of openings."""
    text = f"{several(lost)} dropped out at {seconds(at_us)}, {times(openings)}, {length(longest_us)} at the longest"
    return f"{text}, while {several(kept)} stayed closed" if kept else text


def lost_together(keys: Sequence[str], at_us: int) -> str:
    """Two held keys lost at one instant."""
    return f"{several(keys)} opened at the same instant, {seconds(at_us)}: fingers do not do that"


def bridged(at_us: int) -> str:
    """The partners of two lost keys stayed joined."""
    return f"at {seconds(at_us)} their partner lines stayed joined through the film: the break lies before the first of them"


def wavered(key: str, silent_at: Sequence[int], seen: int) -> str:
    """A key that was silent and seen."""
    return (
        f"{key} stayed silent when asked for at {several(seconds(at) for at in silent_at)}, and closed {times(seen)} otherwise"
    )


def steady_elsewhere(keys: Sequence[str], lines: Sequence[str]) -> str:
    """Other keys that did not drop out."""
    return f"{several(keys)} on {several(lines)} showed no dropout"


def openings(count: int, shortest_us: int, longest_us: int) -> str:
    """Lengths of the openings of one fault."""
    return f"{count} openings in all, the shortest {length(shortest_us)}, the longest {length(longest_us)}"


def zone_rate(zone: str, episodes: int, flexed_s: float, rate: float, limits: tuple[float, float]) -> str:
    """How often a fault showed while a zone was flexed."""
    return (
        f"{zone}: {episodes} {'episode' if episodes == 1 else 'episodes'} in {flexed_s:.1f} s of flexing, "
        f"{rate:.2g} a second (95 %: {limits[0]:.2g} to {limits[1]:.2g})"
    )


def control_rate(episodes: int, control_s: float, corrected: float) -> str:
    """The film left alone, and how likely chance alone is."""
    return f"left alone: {episodes} in {control_s:.1f} s; by chance alone, all zones allowed for: {_chance(corrected)}"


def elsewhere_rate(episodes: int, seconds: float, corrected: float) -> str:
    """All time but that of the zone, and how likely chance alone is."""
    return f"in all other time: {episodes} in {seconds:.1f} s; by chance alone, all zones allowed for: {_chance(corrected)}"


def _chance(corrected: float) -> str:
    return f"{corrected:.1g}" if corrected >= 1e-6 else "under 0.000001"


def zone_quiet(zone: str, flexed_s: float, bound: float) -> str:
    """A zone without episodes: a bound, not soundness."""
    return f"{zone}: nothing in {flexed_s:.1f} s of flexing, so at most {bound:.2g} a second (95 %)"


def counted_only(count: int) -> str:
    """Openings that were counted without their times."""
    return f"{count} more openings were counted whose times the link could not carry"


def joined_at_rest(one: str, two: str, start_us: int, end_us: int) -> str:
    """Two lines joined with nothing pressed."""
    return f"{one} and {two} read joined from {seconds(start_us)} to {seconds(end_us)} with nothing pressed"


def joined_one_way(one: str, two: str) -> str:
    """A join in one direction only."""
    return f"only with {one} driven and {two} sensed"


def joined_now_and_then(one: str, two: str, count: int, first_us: int) -> str:
    """A join that comes and goes."""
    return f"{one} and {two} read joined {times(count)}, first at {seconds(first_us)}, where no key joins them"


def key_stands_there(key: str) -> str:
    """A stuck contact needs a key at the crosspoint."""
    return f"{key} stands where the two cross"


def no_level_measured() -> str:
    """A digital reading cannot tell a short from a leak."""
    return "a reading of closed does not tell a short from a leak of a few kilohms: measure between the two lines"


RIVALS_SHOWN = 5
"""the likeliest are shown to people, all of them stand in the document"""


def more_rivals(count: int) -> str:
    """Rivals that are not shown one by one."""
    return f"and {count} less likely" if count > 0 else ""


def run_close(one: str, two: str, key: str, other: str) -> str:
    """Where two routes come closest on the drawing."""
    where = key if key == other else f"{key} and {other}"
    return f"on the layout's routes {one} and {two} come closest near {where}"


def parts_under_load(one: str, two: str, count: int) -> str:
    """A leak lets go when a key adds a second pull-up."""
    return f"{one} and {two} came apart {times(count)} while keys were pressed: the join is too weak to pull down two inputs"


def twins(one: str, two: str, pairs: int) -> str:
    """Keys that always come in pairs."""
    return f"every key pressed on {one} or {two} closed at the same scan as its neighbour on the other ({pairs} pairs)"


def twins_for_a_while(one: str, two: str, pairs: int, start_us: int, end_us: int) -> str:
    """Keys that came in pairs for part of the run."""
    when = f"from {seconds(start_us)} to {seconds(end_us)}"
    return f"{when} every key pressed on {one} or {two} closed at the same scan as its neighbour on the other ({pairs} pairs)"


def hidden_by_diodes(one: str, two: str) -> str:
    """Why nothing was read at rest."""
    return f"the diodes of {one} and {two} hide the join while nothing is pressed"


def diverted(line: str, onto: str, keys: Sequence[str]) -> str:
    """Keys of one line that are read on another."""
    what = f"{several(keys)} of {line} were pressed and read on {onto}, whose own keys stand right"
    return f"{what}: the two are joined on the film"


def landed(key: str, where: Sequence[str]) -> str:
    """A named press that landed elsewhere."""
    return f"{key} was pressed and {several(where)} was read"


def one_mapping(count: int, of: int) -> str:
    """One mapping of lines explains the named presses."""
    return f"one way of standing explains {count} of {of} named presses"


def no_mapping(of: int) -> str:
    """No mapping explains the named presses."""
    return f"no single way of standing explains the {of} named presses"


def no_key_there(one: str, two: str) -> str:
    """A closure where the layout has no key."""
    return f"{one} and {two} closed although the layout has no key there"


def held(line: str, level: str) -> str:
    """A line held from outside."""
    return f"{line} is held {level} from outside with nothing driven, so nothing was driven"


def diode_wrong_way(line: str, count: int) -> str:
    """A diode that conducts only backwards."""
    reading = f"{line} was read {times(count)} in the direction its diode should block"
    return f"{reading}, and never in the other: it is the wrong way round"


def diode_both_ways(line: str, right: int, wrong: int) -> str:
    """A diode that conducts both ways."""
    return f"{line} was read {times(right)} in the direction of its diode and {times(wrong)} against it: it does not block"


def one_way(line: str, presses: int, driven: bool) -> str:
    """A line that reads in one direction only."""
    way = "driven, never sensed" if driven else "sensed, never driven"
    return f"all {presses} presses on {line} were read with it {way}, while other lines read both ways: film knows no direction"


def bounced(key: str, at_us: int, frame: int, bounce_us: int, limit_us: int) -> str:
    """A press that bounced too long."""
    what = f"{key} bounced for {milliseconds(bounce_us)} at {seconds(at_us)} (frame {frame})"
    return f"{what}, the limit is {milliseconds(limit_us)}"


def moved_by_reseat(lines: Sequence[str], at_us: int) -> str:
    """A fault that changed when a tail was put in again."""
    return (
        f"{several(lines)} changed when the tail was reseated at {seconds(at_us)}: socket or tail end, not the film further up"
    )


def unmoved_by_reseat(lines: Sequence[str], at_us: int) -> str:
    """A fault that stayed when a tail was put in again."""
    return f"{several(lines)} stayed silent after the tail was reseated at {seconds(at_us)}"


def works_past_socket(lines: Sequence[str]) -> str:
    """A line that is whole on the film."""
    return f"{several(lines)} work past the socket: the film is whole, the socket or the tail's end in it is not"


NOT_TESTED_SOCKET = "not tested: the machine's own socket and its solder joints, which the harness does not use"
NOT_TESTED_CHIP = "not tested: the port chip behind the socket"
STEP_FOREIGN = "take the keyboard off the computer, take the computer off the mains, and start again"
STEP_REPAIR_CONTACT = "open the keyboard at this key, clean its two contacts gently, and press it again"


def step_press(key: str) -> str:
    """Press a key."""
    return f"press {key} three times"


def step_press_once(key: str) -> str:
    """Press a key once."""
    return f"press {key}"


def step_witness(one: str, two: str, line: str) -> str:
    """Hold two keys that share one line."""
    return f"hold {one} and {two} together (they share only {line}) and flex the film"


def step_after_reseat(lines: Sequence[str]) -> str:
    """The tail was put in anew already."""
    return f"the tail was put in anew already: hold a key of {several(lines)} and move the tail at the socket, then at the fold"


def step_hold(key: str, zone: str) -> str:
    """Hold one key while a zone is flexed."""
    return f"hold {key} and flex {zone}"


def step_reseat(lines: Sequence[str]) -> str:
    """Put a tail in again and repeat."""
    what = f"reseat the tail of {several(lines)} with a straight pull and press its keys again"
    return f"{what} (each insertion scrapes ink: count it)"


def step_bare_harness(lines: Sequence[str]) -> str:
    """Check the harness without the keyboard."""
    return f"take the keyboard off and join the lead of {several(lines)} to another at the harness plug: does it read?"


def step_past_socket(lines: Sequence[str]) -> str:
    """Probe past the socket."""
    return f"probe {several(lines)} past the socket, only where no chip is attached to the lines"


def step_socket(lines: Sequence[str]) -> str:
    """Work on the socket."""
    return f"clean the socket contacts of {several(lines)} and look at their solder joints"


def step_measure(one: str, two: str) -> str:
    """Measure between two lines."""
    return f"measure the resistance between {one} and {two}"


def step_lift(key: str) -> str:
    """Lift a stuck key."""
    return f"lift the cap of {key} and look whether its contact opens"


def step_look(line: str, after: str, before: str, millimetres: tuple[float, float, float] | None) -> str:
    """Look at a stretch of trace."""
    where = f"look along {line} between {after} and {before}"
    if millimetres is None:
        return where
    low, _, high = millimetres
    return f"{where}, {low:g} to {high:g} mm from the tail"


def step_turn(lines: Sequence[str]) -> str:
    """Put a tail in the right way."""
    return f"take the tail of {several(lines)} out, compare it with the layout's drawing, and put it in right"


def step_layout(title: str) -> str:
    """Choose another layout."""
    return f"check that this keyboard is {title}; if not, choose its layout or learn it"


def step_diode(line: str) -> str:
    """Test a diode."""
    return f"test the diode of {line} with a meter's diode range in both directions"


def step_dry(one: str, two: str) -> str:
    """Let a leak dry."""
    return f"measure the resistance between {one} and {two}, dry the film, and measure again"


TAIL = "the tail"
END = "its end"
