"""The same facts as text: Markdown for a sales listing, a label, and one line a key for a spreadsheet."""

from __future__ import annotations

import csv
import io
import re

from tailwise.report.facts import ReportFacts, coverage_sentences, summary
from tailwise.report.page import about
from tailwise.words import report as words


def _plain(text: str) -> str:
    """Text from outside without Markdown's own signs and without line breaks."""
    return re.sub(r"([\\`*_{}\[\]<>#|])", r"\\\1", " ".join(text.split()))


def listing(facts: ReportFacts) -> str:
    """Markdown to paste into a sales listing."""
    document = facts.document
    headline = words.VERDICT_HEADLINE[document["verdict"]]
    out = [f"## {words.LISTING_TITLE.format(headline=headline)}", ""]
    if document["label"]:
        out.append(f"**{_plain(document['label'])}**, {_plain(facts.layout.title)}")
    else:
        out.append(_plain(facts.layout.title))
    out += ["", _plain(summary(facts)), ""]
    for finding in document["findings"]:
        name = words.KIND.get(finding["kind"], finding["kind"])
        out.append(f"- {name[0].upper()}{name[1:]}: {_plain(about(finding))}, {words.sureness(finding['probability'])}")
    if document["findings"]:
        out.append("")
    out += [f"- {_plain(sentence)}" for sentence in coverage_sentences(facts)]
    tail = words.LISTING_TAIL.format(date=facts.date or "?", tool=document["tool"], fingerprint=facts.short_fingerprint)
    out += ["", _plain(tail), "", words.THAT_DAY, ""]
    return "\n".join(out)


def label_text(facts: ReportFacts) -> str:
    """Four short lines for a sticker."""
    document = facts.document
    return words.LABEL_TEXT.format(
        label=" ".join(document["label"].split())[:40] or "?",
        layout=facts.layout.id,
        symbol=words.VERDICT_SYMBOL[document["verdict"]],
        verdict=document["verdict"],
        grade=document["grade"],
        date=facts.date or "?",
        fingerprint=facts.short_fingerprint,
    )


def keys_table(facts: ReportFacts) -> str:
    """CSV, one line a key."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["key", "legend", "row", "column", "state", "presses", "loop_ohm"])
    for fact in facts.keys.values():
        legend = "'" + fact.legend if fact.legend[:1] in ("=", "+", "-", "@") else fact.legend
        ohm = "" if fact.loop_ohm is None else f"{fact.loop_ohm:.1f}"
        writer.writerow([fact.id, legend, fact.row or "", fact.column or "", fact.state, fact.presses, ohm])
    return out.getvalue()
