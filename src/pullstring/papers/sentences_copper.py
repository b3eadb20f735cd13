"""The fixed sentences behind the codes of the copper: tests, reasons, what a reading says, what was taken for granted."""

from __future__ import annotations

TESTS = {
    "in_use": "It carries a service that must stay: no tone, no ohms, no pulling; follow it by eye.",
    "company_first": "No ohms, no tone, no resistor before its company is told.",
    "resistor": "Something is connected there that may be an alarm loop. Stop; ask its company before any further reading.",
    "volts": "Meter volts DC, then AC, on every pair, before tone, ohms or a device; then isolate and tone.",
    "find_service": "It carries volts. Leave it; find what it serves and who may touch it.",
    "tone": "Isolate the end, put a tone on it and confirm at the outlet by a short.",
    "tone_isolated": "Isolate both ends and tone again: the claims contradict each other.",
    "part_first": "Part it from what it touches, then tone.",
    "look": "Read the print on the jacket at both ends.",
    "marks": "Read the metre marks printed on the jacket at both ends.",
    "capacitance": "Read the capacitance of one pair, the far end open and everything else taken off.",
    "loop": "Short one pair at the far end and read its ohms, then take the ohms of the leads off.",
    "pin_out": "Map every conductor from end to end.",
    "link_test": "Run a real device over it and note rate and minutes. A link at 100 proves two pairs only.",
    "kit_pin_out": "Map every conductor from end to end; the kit at hand has nothing for it.",
    "kit_link_test": "Run a real device over it; the kit at hand has nothing for it.",
    "kit_capacitance": "Read its capacitance; the kit at hand has no meter.",
    "kit_loop": "Read its loop; the kit at hand has no meter.",
    "none": "None needed now.",
}

TESTS_SHORT = {
    "in_use": "in use: leave it",
    "company_first": "leave it; its company first",
    "resistor": "stop: something is connected",
    "volts": "meter volts first",
    "find_service": "live: find what it serves",
    "tone": "tone it",
    "tone_isolated": "tone again, isolated",
    "part_first": "part it first",
    "look": "read its print",
    "marks": "read the metre marks",
    "capacitance": "read its capacitance",
    "loop": "read its loop",
    "pin_out": "map every conductor",
    "link_test": "run a device over it",
    "kit_pin_out": "map it; bring a wire mapper",
    "kit_link_test": "run a device; bring one",
    "kit_capacitance": "capacitance; bring a meter",
    "kit_loop": "loop; bring a meter",
    "none": "none now",
}

REASONS = {
    "ran": "it ran at that rate",
    "ran_against_pairs": "it ran, but too few whole pairs were found",
    "too_few_pairs": "too few whole pairs",
    "pairs_unknown": "nobody has mapped its conductors",
    "tapped": "other cables touch it",
    "spliced": "there is a splice in it",
    "untwisted": "its pairs are not twisted",
    "kind": "by the kind of cable",
    "kind_unknown": "nobody knows the kind of cable",
    "loss": "by its loss",
    "notch": "a branch swallows the signal",
    "crosstalk": "by crosstalk between its pairs",
    "delay": "the signal takes too long",
    "pairs": "too few whole pairs",
    "no model": "no model for it",
    "length": "by its length",
    "length_unknown": "nobody knows its length",
    "out_of_use": "a cable of it is out of use",
}

ADVICE = {
    "two_pairs_negotiate": "Fewer than four pairs are whole. Two gigabit ports agree on 1000 over them and the link never "
    "comes up: let one end offer 100 Mb/s at most, and leave negotiation on at both.",
}

SOURCES = {
    "marks": "metre marks",
    "tape": "a tape",
    "noted": "as noted",
    "estimated": "as estimated",
    "parts": "its parts added up",
    "loop": "loop ohms",
    "capacitance": "capacitance",
    "both_ends": "capacitance from both ends",
}

CAUSES = {
    "bad_joint": "a bad joint in one wire",
    "splice_or_thinner": "a hidden splice or thinner wire",
    "longer_way": "the way is longer than was thought",
    "short_in_the_way": "the wires touch before the far end",
    "thicker_wire": "thicker wire",
    "tap_or_ringer": "a branch, or a telephone's bell",
    "cut": "it is open before the far end",
    "ringer": "a telephone's bell hangs on it",
    "capacitor": "a capacitor hangs on it, so no length follows",
    "resistor": "a resistor hangs on it, so no length follows",
    "coded_resistor": "the resistor that was placed to find it",
    "not_copper": "more ohms than any wire of the house has",
    "open_or_leak": "open, or a leak through damp",
    "stop_ask_company": "stop: it may be an alarm loop; ask its company",
    "wires_do_not_fit": "the single wires do not fit each other; read again",
    "two_accounts": "two readings disagree; read again",
    "estimate_wrong": "the estimated length was wrong",
}

NOT_USED = {
    "volts": "there was voltage on it",
    "stale": "it was worked on since",
    "far_open": "the far end was open",
    "far_shorted": "the far end was shorted",
    "not_said_shorted": "nobody said that the far end was shorted",
    "part_of_run": "it speaks of a part of the run",
    "touching": "other cables touched it",
    "no_value": "no value was read",
    "connected": "something is connected there",
    "superseded": "a later reading counts",
    "disagrees": "the others disagree with it",
}

VERDICTS = {
    "within": "as expected",
    "above": "too high",
    "below": "too low",
    "not comparable": "nothing to compare with",
}

INPUTS = {
    "length_m": "the length",
    "branch_m": "the length of the branch",
    "temperature_c": "the temperature",
    "awg": "the gauge",
    "jacket": "the kind of cable",
    "untwisted_m": "how far its pairs are untwisted",
    "velocity_factor": "the speed on the branch",
    "loss_model": "how lossy such cable is",
    "crosstalk": "how far its pairs couple",
    "branch_model": "how a branch acts",
    "pair": "the pairs",
    "mark_m": "the marks",
    "loop_ohm": "the ohms read",
    "wire_ohm": "the ohms read",
    "capacitance_f": "the farads read",
    "capacitance_f_per_m": "the farads per metre",
    "supply_v": "the supply",
    "load_w": "the load",
}

ASSUMED_COPPER = {
    "any_kit": "any kit is at hand, for none was noted",
    "limits_by_standard": "a cable keeps to the category printed on it",
    "unknown_branch_0_30": "a branch of unknown length is 0 to 30 m",
    "untwist_by_standard": "pairs are untwisted for 13 mm at most where nobody looked",
    "far_shorted": "the far end was shorted where a loop was read",
    "far_open": "the far end was open where a capacitance was read",
    "no_volts": "there was no voltage where nobody read volts",
    "first_pair": "the first pair was read where no pair was named",
    "leads_in_reading": "the leads are in the ohms read",
    "temperature": "copper between 10 and 30 °C",
}
