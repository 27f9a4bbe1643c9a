"""How common each fault is before anything was pressed, and how often people err: one table.

Idea: an explanation is weighed by the product of the odds of its faults. Only ratios matter, so each figure is the chance
that this very component of a keyboard *that came to the bench* has the fault. Order of frequency as repairers tell it
(common practice, no source): tails and sockets first, then sheets at the neck, spills and growth between lines, contacts,
single stretches of trace last. The human figures: a press is missed about once in a hundred (common practice); the engine
reckons with twice that, since the same finger often misses the same key again, and so a silent key is accused after
three silent presses, not after two.

A file may override any of them: see `priors_file`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Priors:
    """Chances per component or per press, 0..1."""

    open_line: float = 0.010
    """per line: socket contact, tail or the trace before its first crosspoint; worn and cracked ends lead every account"""
    cracked_edge: float = 0.010
    """per edge of a tail: a crack that takes two lines or more; cracks start at an edge of the film"""
    crack_growth: float = 0.6
    """each further line a crack takes is this much less common than the one before"""
    broken_stretch: float = 0.001
    """per stretch of trace between two crosspoints: six of them make half an open line"""
    dead_contact: float = 0.003
    """per key: forty of them make one keyboard in eight"""
    short_neighbours: float = 0.002
    """per pair of neighbours on a tail: creases, silver growth, spills"""
    short_side_by_side: float = 0.0004
    """per pair of other lines of one sheet whose routes pass next to each other: no fold and no edge to start at"""
    short_far: float = 0.0002
    """per other pair of lines"""
    short_at_key: float = 0.00001
    """per row and column with a key: the sheets meet only under keys, so what joins them there is that key's contact"""
    leak_share: float = 0.1
    """of joined lines that read steadily joined, the share that is a leak of kilohms, not a short"""
    stuck_contact: float = 0.002
    """per key: delaminated film, rusted spacer, pinched pad"""
    bouncing_contact: float = 0.001
    """per key"""
    diode_open: float = 0.002
    """per diode"""
    diode_backwards: float = 0.0005
    """per diode: only after a repair"""
    harness_lead: float = 0.001
    """per line: a lead off or a pin dead, as long as the bare harness was not checked"""
    intermittent_line: float = 0.004
    """per line: the tired joint, the crack that closes when it lies flat"""
    intermittent_crack: float = 0.003
    """per edge of a tail: two lines or more that come and go together"""
    intermittent_stretch: float = 0.0004
    """per stretch of trace"""
    intermittent_contact: float = 0.002
    """per key"""
    misplaced_tail: float = 0.01
    """per way a tail can go in wrongly (reversed, shifted, in the other socket)"""
    wrong_layout: float = 0.003
    """the keyboard is not the one the layout describes"""
    missed_press: float = 0.02
    """a press that the operator vouches for and that did not reach the contact"""
    wrong_key: float = 0.01
    """a vouched press that landed on another key"""
    slip_short: float = 0.001
    """an opening under 20 ms that a finger makes by itself in one press"""
    slip_long: float = 0.02
    """an opening of 20 ms and more in one press: mostly a doubled press"""
    wobble_per_s: float = 0.05
    """openings a second that a finger makes by itself while it holds a key for seconds and more (common practice)"""
    long_bounce: float = 0.001
    """a press of a sound contact that bounces longer than its limit"""
    accuse_above: float = 0.95
    """a finding needs this much probability that something other than the operator explains the evidence"""


DEFAULT_PRIORS = Priors()
