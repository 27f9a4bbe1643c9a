"""What the ledger says."""

from __future__ import annotations

Help = tuple[str, str]

NO_DRIVER = "the ledger {url} cannot be opened: {error}"
NO_DRIVER_LIKELY = "the URL is mistyped or the database driver is not installed"
NO_DRIVER_NEXT = "check the URL, or install tailwise with its extra `postgres`"
NO_FOLDER = "the folder of the ledger {path} cannot be made: {error}"
NO_FOLDER_HELP: Help = ("no right to write there", "name another place with --ledger FILE")
UNREADABLE = "the ledger {path} cannot be used: {error}"
UNREADABLE_HELP: Help = (
    "the file or server is not reachable, or not a ledger",
    "check the name, or take another with --ledger",
)
FOREIGN = "{path} is not a tailwise ledger; it was left untouched"
FOREIGN_HELP: Help = ("it belongs to another program", "name another file with --ledger FILE")
FUTURE = "the ledger {path} has schema version {found}, this tailwise knows up to {known}; it was left untouched"
FUTURE_HELP: Help = ("a newer tailwise wrote it", "update this tailwise")
DAMAGED = "the ledger {path} is damaged ({error}); it was left untouched"
DAMAGED_HELP: Help = (
    "a failing disk, or a copy made while it was written",
    "restore the last backup: tailwise ledger restore FILE",
)
FULL = "the disk is full, so nothing was added to the ledger {path}; what was in it is whole"
FULL_HELP: Help = ("no room left on the disk", "free some room and save the run again; its recording is still there")
BUSY = "the ledger {path} was in use by another program for {seconds} s"
BUSY_HELP: Help = ("another copy of tailwise saves a long run or makes a backup", "try again")
FORBIDDEN = "the ledger {path} cannot be written"
FORBIDDEN_HELP: Help = (
    "no right to write the file or its folder",
    "change the rights, or name another place with --ledger FILE",
)
UNREACHED = "the ledger's server cannot be reached ({error})"
UNREACHED_HELP: Help = ("the server is down, or the address, name or password is wrong", "check the URL and the server")
NO_KEYBOARD = "no keyboard is labelled {label}{near}"
NO_KEYBOARD_HELP: Help = ("the label is mistyped or was never saved", "tailwise ledger list shows the labels")
NO_RUN = "there is no run {run}"
NO_RUN_HELP: Help = ("the number is mistyped", "tailwise ledger show LABEL lists the runs")
TWICE = "this recording is already run {run} of {label}; nothing was added"
TWICE_HELP: Help = ("it was saved before", "tailwise ledger show {label}")
OTHER_LAYOUT = "{label} is in the ledger as a {there}, the run was made with {here}; nothing was added"
OTHER_LAYOUT_HELP: Help = (
    "a label used twice, or the wrong layout chosen",
    "use another label, or test again with the right layout",
)
NOT_EMPTY = "{path} already holds keyboards; nothing was restored"
NOT_EMPTY_HELP: Help = ("a restore needs an empty ledger", "name a new file with --ledger FILE")
BACKUP_EXISTS = "{path} exists already; nothing was written"
BACKUP_EXISTS_HELP: Help = ("an earlier backup has this name", "choose another name")
WORN = "the connector {name} has seen {matings} matings; sockets of this kind last 10 to 30. Look at it and replace it soon."
NEAR = ", did you mean {label}?"
NO_LABEL = "a run needs a label to be saved; nothing was added"
NO_LABEL_HELP: Help = ("no label was typed or scanned", "give one with --label TEXT")
