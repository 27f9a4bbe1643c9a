"""Room: the protocol's rules as a suite against any board. `run.prove(link)` gives a report; see firmware_spec/PROTOCOL.md."""
