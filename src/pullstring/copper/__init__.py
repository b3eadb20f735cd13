"""Law: what a pair of wires can carry. Resistance, capacitance, and a first judgement of data rates."""
