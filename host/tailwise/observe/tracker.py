"""Applies confirmed steps to the pairs of lines and lets readings settle.

A reading counts once the lines joined by it have stood for a whole scan (`settle_us`): only then is each closed pair
called certain, unknown or unexplained. Lines that chatter hold up their own group, nobody else's.
"""

from __future__ import annotations

from tailwise.model.layout import Layout
from tailwise.observe.contacts import Contact
from tailwise.observe.matrix import Change, Rows, Step
from tailwise.observe.reading import Duo, Reader, Status, bits, component, duo_of
from tailwise.observe.thresholds import BOUNCE_SPAN_US, FILM_ALONE_US, FILM_RETURNS, REST_US, release_us, settle_us


class Tracker:
    """Contacts of all pairs that ever closed, as confirmed so far."""

    def __init__(self, layout: Layout) -> None:
        count = len(layout.lines)
        self.reader = Reader(layout)
        self.contacts: dict[Duo, Contact] = {}
        self.closures: dict[tuple[int, int], int] = {}
        self.blind: list[tuple[int, int, str]] = []
        self.end_us = 0
        self._rows = [0] * count
        self._back = [0] * count
        self._changed_us = [0] * count
        self._doubtful = 0
        self._joins: set[Duo] = set()
        self._maybe: set[Duo] = set()

    @property
    def rows(self) -> Rows:
        """The matrix as confirmed."""
        return tuple(self._rows)

    def explain(self, rows: Rows) -> dict[Duo, Status]:
        """What a matrix says of each closed pair by what is known now."""
        return self.reader.explain(rows, (1 << len(rows)) - 1, self._known_joins(self.end_us))

    def apply(self, step: Step, scan_us: int) -> None:
        """Take one step; scan_us is the scan period as known by now."""
        for change in step.changes:
            self._settle(change.t_us, scan_us)
            self._change(change, scan_us)
        if step.first:
            self._begin(step)
        elif step.blind is not None:
            start, end, _ = step.blind
            self._settle(start, scan_us)
            self._resume(start, end, step, scan_us)
            self.blind.append(step.blind)
        else:
            self._settle(step.t_us, scan_us)
        self.end_us = step.t_us

    def _change(self, change: Change, scan_us: int) -> None:
        driven, sensed = change.driven, change.sensed
        if bool(self._rows[driven] >> sensed & 1) == change.closed:
            return
        duo = duo_of(driven, sensed)
        contact = self.contacts.get(duo)
        if contact is None:
            contact = self.contacts[duo] = Contact()
        if change.closed:
            self.closures[driven, sensed] = self.closures.get((driven, sensed), 0) + 1
        drafts = len(contact.drafts)
        if not change.closed:
            self._doubt(driven)
        self._rows[driven] ^= 1 << sensed
        self._back[sensed] ^= 1 << driven
        contact.change(change.t_us, 1 if driven == duo[0] else 2, change.closed, change.frame, release_us(scan_us))
        if len(contact.drafts) != drafts and duo in self.reader.key_duos:
            self._joins.discard(duo)
        self._doubt(driven)
        self._changed_us[driven] = self._changed_us[sensed] = change.t_us

    def _doubt(self, line: int) -> None:
        self._doubtful |= component(self._rows, self._back, line)

    def _settle(self, now_us: int, scan_us: int) -> None:
        left = self._doubtful
        while left:
            line = (left & -left).bit_length() - 1
            group = component(self._rows, self._back, line)
            left &= ~group
            newest = max(self._changed_us[each] for each in bits(group))
            if newest + settle_us(scan_us) > now_us:
                continue
            self._doubtful &= ~group
            if group & (group - 1):
                self._judge(group, newest + settle_us(scan_us))

    def _judge(self, group: int, now_us: int) -> None:
        self._joins |= {duo for duo in self._maybe if self._ripe(duo, now_us)}
        self._maybe -= self._joins
        for duo, status in self._statuses(group, now_us).items():
            self.contacts[duo].settle(status, now_us)
            if status is Status.UNEXPLAINED and duo not in self._joins:
                self._maybe.add(duo)

    def _statuses(self, group: int, now_us: int) -> dict[Duo, Status]:
        """The group's pairs, with joins that a line coming back has shown to be mere film taken back.

        Two keys held on a line that is open join their partner lines through the line's film: a join without a key, until the
        line comes back and the two keys explain it. A join that began after the rest check and has had no company but one line,
        again and again, on which both partners have a key, is such film; a short has the company of every line that is pressed,
        and is alone for as long as nobody presses one.
        """
        film = {
            duo for duo in self._joins if group >> duo[0] & 1 and group >> duo[1] & 1 and self._like_film(duo, group, now_us)
        }
        if film:
            statuses = self.reader.explain(self.rows, group, frozenset(self._joins - film))
            if Status.UNEXPLAINED not in statuses.values():
                self._joins -= film
                for duo in film:
                    self.contacts[duo].forget_strangeness()
                return statuses
        return self.reader.explain(self.rows, group, frozenset(self._joins))

    def _like_film(self, duo: Duo, group: int, now_us: int) -> bool:
        draft = self.contacts[duo].current
        if duo in self.reader.key_duos or draft is None or draft.start_us < REST_US:
            return False
        others = group & ~(1 << duo[0] | 1 << duo[1])
        draft.meet(others, now_us)
        company = bits(draft.company)
        if not others or draft.returns < FILM_RETURNS or len(company) != 1 or draft.longest_alone_us > FILM_ALONE_US:
            return False
        return all(duo_of(line, company[0]) in self.reader.key_duos for line in duo)

    def _known_joins(self, now_us: int) -> frozenset[Duo]:
        """Keys that stand closed since the start, and pairs no key joins that have read joined and unexplained for long."""
        return frozenset(self._joins | {duo for duo in self._maybe if self._ripe(duo, now_us)})

    def _ripe(self, duo: Duo, now_us: int) -> bool:
        draft = self.contacts[duo].current
        if draft is None or draft.unexplained_us is None or draft.veiled or draft.open_since_us is not None:
            return False
        return now_us - draft.unexplained_us >= BOUNCE_SPAN_US

    def _ways(self, rows: Rows) -> dict[Duo, int]:
        ways: dict[Duo, int] = {}
        for driven, row in enumerate(rows):
            for sensed in bits(row):
                duo = duo_of(driven, sensed)
                ways[duo] = ways.get(duo, 0) | (1 if driven == duo[0] else 2)
                if not self._rows[driven] >> sensed & 1:
                    self.closures[driven, sensed] = self.closures.get((driven, sensed), 0) + 1
        return ways

    def _begin(self, step: Step) -> None:
        for duo, ways in self._ways(step.rows).items():
            contact = self.contacts[duo] = Contact()
            contact.begin(step.t_us, ways, step.frame)
            if duo in self.reader.key_duos:
                self._joins.add(duo)
        self._replace(step.rows, step.t_us)

    def _resume(self, start_us: int, end_us: int, step: Step, scan_us: int) -> None:
        ways = self._ways(step.rows)
        for duo in ways:
            if duo not in self.contacts:
                self.contacts[duo] = Contact()
        for duo, contact in self.contacts.items():
            drafts = len(contact.drafts)
            contact.resume(start_us, end_us, ways.get(duo, 0), step.frame, release_us(scan_us))
            if len(contact.drafts) != drafts and duo in self.reader.key_duos:
                self._joins.discard(duo)
        self._replace(step.rows, end_us)

    def _replace(self, rows: Rows, t_us: int) -> None:
        for line, row in enumerate(rows):
            if row != self._rows[line] or row:
                for sensed in bits(row ^ self._rows[line]):
                    self._changed_us[sensed] = t_us
                self._changed_us[line] = t_us
        self._rows = list(rows)
        self._back = [0] * len(rows)
        for driven, row in enumerate(rows):
            for sensed in bits(row):
                self._back[sensed] |= 1 << driven
        self._doubtful = (1 << len(rows)) - 1
