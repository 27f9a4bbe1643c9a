"""The catalogue of the protocol's rules: title, section of PROTOCOL.md, expectation."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Says:
    """One rule in words."""

    title: str
    section: int
    expected: str


RULES: dict[str, Says] = {
    # commands
    "start_unconfigured": Says("START is refused before configuration", 11, "after a reset, REFUSED not_configured"),
    "hello_answered": Says("HELLO is answered", 6, "IDENTITY with the number of the HELLO"),
    "hello_again": Says("a second HELLO gets the same IDENTITY", 6, "the same fields, for any range with version 1 in it"),
    "hello_no_protocol": Says("no common version is refused", 13, "REFUSED no_protocol, and ALIVE works after it"),
    "identity_version": Says("the board speaks protocol 1", 13, "protocol_min at most 1, protocol_max at least 1"),
    "identity_lines": Says("the number of lines is in its limits", 12, "line_count from 2 to 40"),
    "identity_clock_tick": Says("the clock counts microseconds", 4, "clock_tick_ns 1000"),
    "identity_settle": Says("the settle times make sense", 7, "settle_default_ns above 0, at most settle_max_ns"),
    "identity_command_bytes": Says("commands of 64 bytes are taken", 12, "max_command_bytes from 64 to 254"),
    "identity_checked_lines": Says("the bitmap of checked lines fits", 9, "bits for lines it has, none without line_check"),
    "identity_names": Says("name and serial number fit", 12, "board 1 to 32 printable characters, unique_id up to 16 bytes"),
    "start_without_lines": Says("START is refused with nothing to scan", 11, "REFUSED not_configured"),
    "idle_commands": Says("STOP and ALIVE are acknowledged while idle", 14, "ACK"),
    "numbers_echoed": Says("commands may have any number", 3, "ACK with number and type of the command, repeated ones too"),
    "unknown_message": Says("unknown types are refused", 11, "REFUSED unknown_message for free types and board types"),
    "unannounced_capability": Says("reserved messages are refused", 13, "REFUSED unknown_message or unsupported"),
    "bad_payload": Says("payloads of a wrong length are refused", 11, "REFUSED bad_payload"),
    "values_out_of_range": Says(
        "values out of range are refused",
        7,
        "REFUSED bad_payload: period over 20000 us, settle time over settle_max_ns, mode 200",
    ),
    "bad_line": Says("lines and roles the board lacks are refused", 11, "REFUSED bad_line, detail the line"),
    "refusal_changes_nothing": Says("a refusal changes nothing", 11, "START scans with the settings from before the refusals"),
    "running_refused": Says("settings and START are refused while scanning", 14, "REFUSED running, and scanning goes on"),
    "hello_while_scanning": Says("HELLO disturbs no scan", 6, "IDENTITY, and STATE goes on"),
    # damage
    "bad_crc": Says("a wrong CRC is counted and ignored", 2, "no answer, bad_frames up by one for each"),
    "bad_length": Says("a wrong length byte is counted and ignored", 2, "no answer, bad_frames up by one for each"),
    "short_frames": Says("frames too short are counted and ignored", 2, "no answer, bad_frames up by one for each"),
    "oversize": Says("1000 bytes without a 00 are survived", 2, "no answer, bad_frames up by one, the next command works"),
    "half_frames": Says("half frames are counted and ignored", 2, "no answer, bad_frames up by one for each"),
    "half_then_whole": Says("half a frame costs one frame at the most", 2, "the next command or the one after it is answered"),
    "garbage": Says("garbage is survived", 1, "idle and scanning, the next command or the one after it is answered"),
    "zeros": Says("a row of 00 is silence", 2, "no answer, nothing counted"),
    "longest_command": Says("commands of max_command_bytes are taken", 11, "taken, and one byte more is one bad frame"),
    # runs
    "line_check_sent": Says("LINE_CHECK comes if it is announced", 9, "one before START's ACK with line_check, else none"),
    "line_check_form": Says(
        "LINE_CHECK has one right status a line", 9, "not_used, not_checked or a verdict, by role and bitmap"
    ),
    "held_line": Says("a held line stops the drive", 9, "REFUSED held_line naming the first, refused_drive, no STATE"),
    "heartbeat_state": Says("HEARTBEAT says what the board does", 10, "idle, scanning with growing scans, idle"),
    "stop_quiet": Says("nothing of the run comes after STOP's ACK", 6, "no STATE, no TRANSITIONS"),
    "start_again": Says("START after STOP keeps the settings", 6, "ACK and STATE, three times"),
    "mixed_roles": Says("driven and sensed lines are told apart", 8, "bitmaps for the driven lines only"),
    "scan_period": Says("the scan period is kept", 7, "10 ms from scan to scan, to 5 %"),
    "longest_settle": Says("the longest settle time is bearable", 7, "worst_scan_us at most 20000 with all lines"),
    "long_run": Says("a run goes on as long as the host is there", 10, "STATE for two seconds"),
    # silence
    "host_silence": Says("scanning ends 2 s after the host's last word", 10, "the last STATE 1.95 to 2.2 s after it"),
    "silence_in_heartbeat": Says("HEARTBEAT says that the host is silent", 10, "host_silent, and idle after STOP"),
    "silence_needs_start": Says(
        "after silence only START scans again", 10, "no STATE after ALIVE; START needs no new settings"
    ),
    "noise_is_silence": Says("bad frames are no sign of life", 10, "the last STATE at most 2.2 s after the last good command"),
    "idle_silence": Says("silence changes nothing while idle", 10, "HEARTBEAT goes on and says idle"),
    # watching
    "watch_unconfigured": Says("START watch is refused before SET_WATCH", 19, "after a reset, REFUSED not_configured"),
    "watch_set": Says("SET_WATCH takes one pair and two", 19, "ACK for lines that can be watched, with a pull-up they have"),
    "watch_set_refused": Says(
        "pairs that make no sense are refused",
        19,
        "REFUSED bad_payload: not 1 or 2 pairs, unknown pull-up; bad_line: lines it lacks, sensed twice or sensed and driven",
    ),
    "watch_start": Says("a watch begins as every run does", 19, "LINE_CHECK if announced, ACK, then WATCHED"),
    "watch_running": Says("commands are refused while watching", 19, "REFUSED running, and the watch goes on"),
    "watch_stop_quiet": Says("nothing of the watch comes after STOP's ACK", 19, "no WATCHED, no OPENINGS"),
    "watch_then_matrix": Says("the matrix is scanned again after a watch", 19, "STATE with the settings from before"),
    "watch_silence": Says("a watch ends 2 s after the host's last word", 10, "the last WATCHED 1.95 to 2.2 s after it"),
    "watch_long": Says("a watch goes on as long as the host is there", 19, "WATCHED for a second of one pair and one of two"),
    # the whole log
    "frames_good": Says("every frame of the board is good", 2, "no bad frame after IDENTITY"),
    "numbers_without_holes": Says("numbers have no holes", 3, "each number one more than the last, over 65535 to 0"),
    "messages_known": Says("every message is one of the protocol", 5, "known, announced or private types, payloads that fit"),
    "one_answer": Says("every command gets exactly one answer", 11, "one ACK, REFUSED or IDENTITY that names number and type"),
    "answers_in_time": Says("answers come in time", 12, "within 250 ms"),
    "refusals_known": Says("refusals keep to the table", 5, "codes 1 to 8, reasons of up to 60 characters"),
    "clock_never_back": Says("the clock never goes back", 4, "over its wrap too; types within 100 ms of each other"),
    "clock_rate": Says("the clock counts real microseconds", 4, "to 2 % of the host's clock"),
    "heartbeat_period": Says("HEARTBEAT comes every 500 ms", 12, "400 to 600 ms apart, in every state"),
    "booted_first": Says("BOOTED is the first frame after a reset", 10, "numbered 0, and nothing unasked until HELLO"),
    "no_restart": Says("the board does not restart", 10, "no BOOTED after IDENTITY"),
    "check_before_drive_only": Says("LINE_CHECK belongs to a START that drives", 9, "START's ACK or REFUSED held_line next"),
    "state_first": Says("a run begins with STATE", 6, "no TRANSITIONS before it"),
    "state_period": Says("STATE comes every 50 ms at the latest", 12, "at most 50 ms from ACK to STATE to STATE"),
    "state_size": Says("STATE has the right length", 8, "ceil(line_count / 8) bytes for each driven line"),
    "unread_bits": Says("bits that were not read are 0", 8, "a line's own bit, unsensed lines, lines the board lacks"),
    "transitions_fit": Says("TRANSITIONS name lines of the run", 8, "a driven and another sensed line, at most 60, in order"),
    "state_agrees": Says("STATE and TRANSITIONS agree", 8, "the last STATE and the transitions since give this STATE"),
    "transitions_change": Says("every entry changes a reading", 8, "closed only what was open, opened only what was closed"),
    "transition_delay": Says("transitions leave within 4 ms of their scan", 12, "none held back behind a later ACK"),
    "sampling_in_order": Says("STATE stands between its transitions", 8, "sampled by its clock before it, later after it"),
    "dropped_grows": Says("dropped starts at 0 and only grows", 8, "0 in the first STATE, never less than before"),
    "watch_alone": Says("matrix and watch do not mix", 19, "no STATE and no TRANSITIONS in a watch, no WATCHED outside one"),
    "watched_period": Says("WATCHED comes every 50 ms at the latest", 19, "at most 50 ms from ACK to WATCHED to WATCHED"),
    "watched_counts": Says(
        "WATCHED counts from 0 and only grows", 19, "no more than the time that went by, nothing of a pair that is not watched"
    ),
    "openings_fit": Says("OPENINGS tell openings that can be", 19, "1 to 20 entries, each pair's one after the other, ended"),
    "openings_counted": Says("counts and single openings agree", 19, "counted = listed + dropped, and their lengths together"),
    "openings_delay": Says("OPENINGS come in time", 19, "at most 20 ms after the first of them ended"),
}
