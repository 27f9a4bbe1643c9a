"""Random networks that look like membranes: trees of trace, contacts, bridges, diodes, one driven line, pull-ups."""

from __future__ import annotations

from random import Random

from tailwise.circuit.network import Network


def random_network(seed: int, *, diodes: bool) -> Network:
    """Two to six lines of one to seven stops each."""
    random = Random(seed)
    network = Network()
    count = random.randint(2, 6)
    stops = [random.randint(1, 7) for _ in range(count)]
    for line, length in enumerate(stops):
        pin = ("pin", line)
        ohm, volts = (25.0, random.choice([0.0, 0.4])) if line == 0 else (random.uniform(4e3, 50e3), 5.0)
        network.source(pin, volts, ohm)
        start: object = (line, 0)
        if diodes and random.random() < 0.4:
            network.resistor(pin, ("lead", line), 220.0)
            ends = (("lead", line), start) if random.random() < 0.5 else (start, ("lead", line))
            network.diode(*ends)
        else:
            network.resistor(pin, start, 220.0 + random.choice([0.0, 0.0, 3e3, 1e6]))
        for stop in range(1, length):
            network.resistor((line, random.randrange(stop)), (line, stop), random.uniform(0.5, 500))
    for _ in range(random.randint(1, 2 * count)):
        one, other = random.sample(range(count), 2)
        a, b = (one, random.randrange(stops[one])), (other, random.randrange(stops[other]))
        ohm = 10 ** random.uniform(0.5, 7)
        if diodes and random.random() < 0.4:
            middle = ("contact", len(network.own))
            network.resistor(a, middle, ohm)
            network.diode(middle, b)
        else:
            network.resistor(a, b, ohm)
    return network
