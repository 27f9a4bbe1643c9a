"""The membrane as resistors, diodes and capacitors: levels, margins, settling, and a solver for the whole network."""
