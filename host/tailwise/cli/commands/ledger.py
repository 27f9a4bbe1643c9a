"""`tailwise ledger`: the records of keyboards and runs."""

from __future__ import annotations

import argparse
from pathlib import Path

from tailwise.words import ledgercli as words

NAME = "ledger"
HELP = words.LEDGER


def options(parser: argparse.ArgumentParser) -> None:
    """One action, and where the ledger is."""
    parser.add_argument("--ledger", metavar="FILE", help=words.WHERE)
    actions = parser.add_subparsers(title=words.ACTION, metavar="ACTION", required=True, dest="action")
    add = actions.add_parser("add", help=words.ADD)
    add.add_argument("recordings", metavar="RECORDING", type=Path, nargs="+")
    add.add_argument("--label", metavar="TEXT", default="", help=words.ADD_LABEL)
    add.add_argument("--stage", metavar="TEXT", default="", help=words.ADD_STAGE)
    add.add_argument("--connector", metavar="NAME", action="append", default=[], help=words.ADD_CONNECTOR)
    listing = actions.add_parser("list", help=words.LIST)
    listing.add_argument("search", nargs="?", default="", help=words.LIST_SEARCH)
    listing.add_argument("--layout", metavar="ID", default="", help=words.LIST_LAYOUT)
    listing.add_argument("--donor", action="store_true", default=None, help=words.LIST_DONOR)
    listing.add_argument("--json", action="store_true")
    show = actions.add_parser("show", help=words.SHOW)
    show.add_argument("what", metavar="LABEL|RUN")
    show.add_argument("--json", action="store_true")
    compare = actions.add_parser("compare", help=words.COMPARE)
    compare.add_argument("before", metavar="RUN", type=int)
    compare.add_argument("after", metavar="RUN", type=int)
    compare.add_argument("--json", action="store_true")
    change = actions.add_parser("set", help=words.SET)
    change.add_argument("label")
    change.add_argument("--owner", metavar="TEXT", help=words.SET_OWNER)
    change.add_argument("--notes", metavar="TEXT", help=words.SET_NOTES)
    change.add_argument("--donor", choices=("yes", "no"), help=words.SET_DONOR)
    table = actions.add_parser("csv", help=words.CSV)
    table.add_argument("-o", "--output", metavar="FILE", type=Path, help=words.CSV_OUT)
    extract = actions.add_parser("extract", help=words.EXTRACT)
    extract.add_argument("number", metavar="RUN", type=int)
    extract.add_argument("file", metavar="FILE", type=Path)
    for name, text in (("backup", words.BACKUP), ("restore", words.RESTORE)):
        actions.add_parser(name, help=text).add_argument("file", metavar="FILE", type=Path)
    stats = actions.add_parser("stats", help=words.STATS)
    stats.add_argument("--layout", metavar="ID", default="", help=words.LIST_LAYOUT)
    lot = actions.add_parser("lot", help=words.LOT)
    lot.add_argument("--sample", metavar="N", type=int, required=True, help=words.LOT_SAMPLE)
    lot.add_argument("--allowed", metavar="C", type=int, required=True, help=words.LOT_ALLOWED)
    lot.add_argument("--layout", metavar="ID", default="", help=words.LOT_LAYOUT)
    connectors = actions.add_parser("connectors", help=words.CONNECTORS)
    connectors.add_argument("--new", metavar="NAME", help=words.CONNECTORS_NEW)


def run(arguments: argparse.Namespace) -> int:
    """Open the ledger and do it."""
    from tailwise.cli.ledgeractions import ACTIONS
    from tailwise.ledger.store import Ledger

    ledger = Ledger(arguments.ledger)
    try:
        ACTIONS[arguments.action](ledger, arguments)
    finally:
        ledger.close()
    return 0
