"""From claims to sentences: the records, keys and lines behind every finding."""

from __future__ import annotations

from tailwise.diagnose.bounce import BounceClaim
from tailwise.diagnose.components import Components
from tailwise.diagnose.diodes import DiodeClaim
from tailwise.diagnose.episodes import Episode
from tailwise.diagnose.evidence import Evidence, KeyRecord
from tailwise.diagnose.flexing import flexed
from tailwise.diagnose.hidden import HiddenShort
from tailwise.diagnose.inference import Claim
from tailwise.diagnose.joined import JoinClaim
from tailwise.diagnose.mapping import Standing
from tailwise.diagnose.sidebyside import side_by_side
from tailwise.diagnose.suspects import Case
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.observation import Observations
from tailwise.words import diagnosis as say

MOST_EPISODES = 6
MOST_NAMED_PRESSES = 6
LEAST_QUIET_S = 1.0


def about_claim(claim: Claim, case: Case) -> tuple[str, ...]:
    """Why a fault is accused of silence or of coming and going."""
    fault = claim.hypothesis.fault
    if claim.hypothesis.steady:
        return _steady(fault, claim, case.evidence)
    return _intermittent(claim, case)


def about_join(claim: JoinClaim, parts: Components) -> tuple[str, ...]:
    """Why two lines are said to be joined."""
    fault = claim.options[0][0]
    one, two = fault.lines
    if not claim.readings:
        return (say.hidden_by_diodes(one, two),)
    steady = [each for each in claim.readings if each.steady]
    if not steady:
        first = min(each.start_us for each in claim.readings)
        return (say.joined_now_and_then(one, two, len(claim.readings), first), *_closest(fault, parts), say.no_level_measured())
    start, end = min(each.start_us for each in steady), max(each.end_us for each in steady)
    lines = [say.joined_at_rest(one, two, start, end)]
    if all(each.one_way for each in steady):
        lines.append(say.joined_one_way(*steady[0].lines))
    lines += [say.key_stands_there(key) for key in fault.keys]
    lines += _closest(fault, parts)
    if claim.reopened:
        lines.append(say.parts_under_load(one, two, claim.reopened))
    elif fault.kind is not FaultKind.STUCK_CONTACT:
        lines.append(say.no_level_measured())
    return tuple(lines)


def about_hidden(short: HiddenShort) -> tuple[str, ...]:
    """Why two lines with diodes are said to be joined although nothing was read at rest."""
    one, two = short.options[0][0].lines
    if short.span is None:
        return (say.twins(one, two, short.pairs), say.hidden_by_diodes(one, two))
    return (say.twins_for_a_while(one, two, short.pairs, *short.span), say.hidden_by_diodes(one, two), say.no_level_measured())


def _closest(fault: Fault, parts: Components) -> tuple[str, ...]:
    """Where two joined lines of one sheet come closest."""
    spot = side_by_side(parts.layout, *sorted(fault.lines))
    return () if spot is None or fault.keys else (say.run_close(*fault.lines, *sorted(spot.keys)),)


def about_standing(standing: Standing, observations: Observations) -> tuple[str, ...]:
    """Why lines are said not to stand where the layout says."""
    landed = [each for each in standing.named if each.landed]
    moves = standing.way.moves
    lines = []
    if moves:
        right = [each for each in landed if {moves.get(each.row), moves.get(each.column)} in [set(at) for at in each.landed]]
        lines.append(say.one_mapping(len(right), len(landed)))
    else:
        lines.append(say.no_mapping(len(landed)))
    keys_at = observations.layout.keys_at
    for each in landed:
        if frozenset((each.row, each.column)) not in each.landed and len(lines) <= MOST_NAMED_PRESSES:
            names = [name for pair in sorted(each.landed, key=sorted) for name in keys_at.get(pair, ("/".join(sorted(pair)),))]
            lines.append(say.landed(each.key, names))
    return tuple(lines)


def about_diode(claim: DiodeClaim) -> tuple[str, ...]:
    """Why a diode is accused."""
    line = claim.fault.lines[0]
    if claim.both_ways:
        return (say.diode_both_ways(line, claim.right_way, claim.wrong_way),)
    return (say.diode_wrong_way(line, claim.wrong_way),)


def about_bounce(claim: BounceClaim) -> tuple[str, ...]:
    """Which presses bounced too long."""
    return tuple(
        say.bounced(long.press.key, long.press.start_us, long.press.frame, long.bounce_us, claim.limit_us)
        for long in claim.presses[:MOST_EPISODES]
    )


def _steady(fault: Fault, claim: Claim, evidence: Evidence) -> tuple[str, ...]:
    silent = evidence.parts.ids(claim.hypothesis.silences & evidence.silent)
    records = [evidence.records[key] for key in silent]
    sentences = list(_silences(records))
    if fault.kind is FaultKind.BROKEN_TRACE and fault.place is not None:
        line = fault.place.line
        good = [evidence.records.get(key) for key in reversed(evidence.parts.path(line, fault.place.before or ""))]
        near = next((each for each in good if each is not None and each.seen), None)
        if near is not None:
            press = near.seen[-1]
            sentences.append(say.near_part(line, near.key, press.start_us, press.frame))
        sentences.append(say.far_part(line, silent))
    elif fault.kind is FaultKind.CRACKED_TAIL:
        sentences.append(say.crack(fault.lines))
    elif fault.lines:
        sentences += [say.none_on_line(line, len(silent)) for line in fault.lines]
    untried = evidence.parts.ids(claim.hypothesis.silences & ~evidence.silent)
    if untried:
        sentences.append(say.not_tried(untried))
    crossed = [line for key in silent for point in evidence.parts.layout.key_by_id[key].crosspoints for line in point]
    doubtful = fault.lines or tuple(dict.fromkeys(crossed))
    sentences += [say.route_unknown(line) for line in doubtful if not evidence.parts.stretches[line]]
    sentences += _cleared(fault, evidence)
    return tuple(sentences)


def _silences(records: list[KeyRecord]) -> list[str]:
    if len(records) <= 2:
        return [say.silent_key(each.key, [one.start_us for one in each.silent], each.vouched) for each in records]
    sentences: list[str] = []
    for stated in (True, False):
        keys = [each.key for each in records if each.vouched == stated]
        if keys:
            sentences.append(say.silent_keys(keys, stated))
    first = records[0]
    if first.silent:
        sentences.append(say.silent_key(first.key, [one.start_us for one in first.silent], first.vouched))
    return sentences


def _cleared(fault: Fault, evidence: Evidence) -> list[str]:
    """Good presses on the crossing lines: of a dead key both its lines, of a line the ones that cross it."""
    layout = evidence.parts.layout
    crossing = {line for key in fault.keys for point in layout.key_by_id[key].crosspoints for line in point} - set(fault.lines)
    sentences: list[str] = []
    for line in layout.lines:
        if line not in crossing or len(sentences) >= 2:
            continue
        for key in layout.keys_on[line]:
            record = evidence.records.get(key)
            if record is not None and record.seen and key not in fault.keys:
                press = record.seen[-1]
                sentences.append(say.working(key, line, press.start_us, press.frame))
                break
    return sentences


def _intermittent(claim: Claim, case: Case) -> tuple[str, ...]:
    parts, evidence = case.evidence.parts, case.evidence
    sentences: list[str] = []
    episodes: list[Episode] = []
    for index, conflict in enumerate(case.conflicts):
        if not claim.hits >> index & 1:
            continue
        if conflict.episode is not None:
            episodes.append(conflict.episode)
            continue
        for key in parts.ids(conflict.key):
            record = evidence.records[key]
            at = [one.start_us for one in record.silent]
            sentences.append(
                say.wavered(key, at, sum(seen for _, seen in record.trials))
                if record.wavers
                else say.silent_key(key, at, record.vouched)
            )
    for episode in episodes[:MOST_EPISODES]:
        lost, kept = parts.ids(episode.lost), parts.ids(episode.kept)
        sentences.append(say.dropout(lost, kept, episode.start_us, episode.longest_us, len(episode.dropouts)))
    for episode in episodes:
        together = next((each for each in episode.dropouts if len(each.lost) > 1), None)
        if together is not None:
            sentences.append(say.lost_together(together.lost, together.start_us))
            if together.bridged:
                sentences.append(say.bridged(together.start_us))
            break
    sentences += _flexing(episodes, claim, case)
    quiet = parts.ids(claim.hypothesis.silences & evidence.seen & ~_lost(episodes) & ~evidence.wavering)
    if quiet and len(claim.hypothesis.fault.lines) == 1:
        sentences.append(say.steady_elsewhere(quiet, claim.hypothesis.fault.lines))
    return tuple(sentences)


def episodes_of(claim: Claim, case: Case) -> list[Episode]:
    """The episodes a claim explains."""
    found = (conflict.episode for index, conflict in enumerate(case.conflicts) if claim.hits >> index & 1)
    return [episode for episode in found if episode is not None]


def _flexing(episodes: list[Episode], claim: Claim, case: Case) -> list[str]:
    """How long the openings were, and how often they came in which zone."""
    if not episodes:
        return []
    story = flexed(episodes, claim.hypothesis.silences, case.exposure)
    sentences = [say.openings(story.openings, story.shortest_us, story.longest_us)] if story.openings > 1 else []
    control = story.control
    if story.moving is not None:
        zone = story.zones[story.moving]
        sentences.append(say.zone_rate(zone.zone, zone.seen.episodes, zone.seen.seconds, zone.seen.rate, zone.seen.limits))
        if control.seconds > 0:
            sentences.append(say.control_rate(control.episodes, control.seconds, zone.corrected))
        if zone.elsewhere_corrected < zone.corrected and len(story.zones) > 1:
            sentences.append(say.elsewhere_rate(zone.elsewhere.episodes, zone.elsewhere.seconds, zone.elsewhere_corrected))
    for zone in story.zones.values():
        if zone.zone != story.moving and zone.seen.episodes:
            sentences.append(say.zone_rate(zone.zone, zone.seen.episodes, zone.seen.seconds, zone.seen.rate, zone.seen.limits))
        elif not zone.seen.episodes and zone.seen.seconds >= LEAST_QUIET_S:
            sentences.append(say.zone_quiet(zone.zone, zone.seen.seconds, zone.seen.bound))
    unlisted = sum(count for watch in case.evidence.observations.watches for _, _, count, _ in watch.unlisted)
    if unlisted and any(
        {watch.sensed, watch.driven} & set(claim.hypothesis.fault.lines) for watch in case.evidence.observations.watches
    ):
        sentences.append(say.counted_only(unlisted))
    return sentences


def _lost(episodes: list[Episode]) -> int:
    lost = 0
    for episode in episodes:
        lost |= episode.lost
    return lost
