"""The fixed sentences of power: why a port fits, what a budget says, batteries, heat, and changes before they are made."""

from __future__ import annotations

POWER = {
    "granted": "mode and class fit",
    "fed_24v": "24 V for a 24 V unit",
    "own_plug": "it has its own plug supply",
    "port_gives_none": "the port gives none",
    "stays_dark_no_harm": "it stays dark on a standard port, without harm",
    "does_not_start": "a standard unit does not start on 24 V",
    "never_patch_always_on": "an always-on port asks nobody: unplug it",
    "port_unknown": "nobody knows what the port gives: meter first",
    "device_unknown": "nobody knows what the unit wants",
    "class_not_granted": "the port does not grant its class",
    "class_unknown": "nobody knows its class",
    "port_class_unknown": "nobody knows what the port grants",
    "pairs_missing": "the pairs that would carry the power are not whole",
    "pairs_unknown": "it fits, but nobody has mapped the conductors",
    "alternative_unknown": "nobody knows which pairs the port powers",
    "short_between_poles": "a short joins plus and minus",
    "short_to_other_pair": "a short joins two pairs",
    "short_inside_pair": "a short joins equal poles",
    "loop_over_limit": "the resistance is over the standard's limit",
    "no_voltage_can_carry_it": "no voltage can carry that power over this wire",
    "near_collapse": "the voltage is near collapse",
    "volts_too_low": "too few volts at the unit",
    "least_volts_unknown": "nobody knows the least volts it needs",
    "load_unknown": "nobody knows its watts",
    "over_port_limit": "more watts than the port gives",
    "nothing_known_there": "nobody knows what hangs there",
    "over_class": "it and what hangs behind it ask more than its class gives",
    "pairs_crossed": "pairs are crossed on the way",
    "poles_reversed": "plus and minus arrive exchanged",
    "signature_spoiled": "something else on the same pairs spoils the asking: no power comes, which is right",
    "shares_power": "another unit draws from the same pairs",
    "data_100_only": "the power takes two pairs: 100 Mb/s at most",
    "way_only_told": "the way there is only told",
    "open_jack": "an open jack hangs on it",
    "line_on_wires": "a telephone or other line is on these wires",
    "other_source": "another port gives power on the same wires",
    "far_end_unknown": "nobody knows what lies at a far end",
    "second_port_unknown": "nobody knows whether a second port hands power on",
}

REACHED = {
    "unit": "unit",
    "open jack": "open jack",
    "foreign line": "line of others",
    "other source": "other port giving power",
}

STARTS = {"starts": "starts", "may_start": "may start", "refused": "refused"}

COUNTING = {
    "class": "if it keeps power back by class",
    "draw": "if it counts what is drawn",
}

BUDGET = {
    "within_budget": "all within what it can give",
    "over_budget_by_class": "over by class",
    "over_budget_by_plate": "over by plate",
    "over_budget_typical": "over even with typical draw",
    "over_budget_with_margin": "typical draw with a quarter more is over: the room that is common practice is not there",
    "reserves_or_counts_unknown": "nobody noted whether it keeps power back by class or counts what is drawn",
    "order_by_port_number": "the order of starting is taken by port number",
    "class_unknown": "a class is not known",
    "load_unknown": "a draw is not known",
}

BATTERY = {
    "tested": "as tested",
    "reckoned": "as reckoned",
    "only_said": "as somebody said",
    "test_before_battery": "the test is older than the battery",
    "called_dead": "its battery was called dead",
    "battery_past_its_life": "its battery is past its life",
    "battery_age_unknown": "nobody knows how old its battery is",
    "battery_unknown": "nobody noted its battery",
    "load_unknown": "a draw on it is not known",
    "load_added_since_test": "more hangs on it than at the test",
    "nothing_on_battery": "nothing hangs on its battery sockets",
    "surge_only": "something hangs on its sockets without battery",
    "rate_assumed": "ampere hours taken as given over 20 h",
    "efficiency_assumed": "its efficiency is assumed",
    "temperature_assumed": "its temperature is assumed",
}

HEAT = {
    "summed": "summed",
    "draw_unknown": "a draw is not known, so it is more",
    "greatest_draw_unknown": "a greatest draw is not known",
    "typical_draw_unknown": "a typical draw is not known",
    "efficiency_assumed": "efficiencies are assumed",
    "no_unit_in_it": "no unit stands in it",
}

CARD_MAY = {
    "802.3af": "802.3af units, plain gear",
    "802.3at": "802.3af and at units, plain gear",
    "802.3bt": "802.3af, at and bt units, plain gear",
    "24 V always-on": "24 V units only",
    "nothing": "plain gear",
}

CARD_NEVER = {
    "802.3af": "24 V units: they stay dark",
    "802.3at": "24 V units: they stay dark",
    "802.3bt": "24 V units: they stay dark",
    "24 V always-on": "anything else: it may burn",
    "nothing": "–",
}

CHANGE = {
    "hazard_then": "something could be harmed then",
    "ends_what_works": "it ends what works now",
    "works_then": "what works now works then too",
    "nothing_lost": "nothing that works now is lost",
    "not_sure_then": "the record cannot tell whether it works then",
    "mode_left_behind": "the port left behind goes on giving power: set it to nothing, or blank it",
    "mode_not_saved": "its setting is not saved: after a power cut it is another",
    "saved_unknown": "nobody noted whether its setting is saved",
    "not_plugged_there": "nobody noted that this plug is in anywhere",
    "port_taken": "something is plugged in there already",
}

QUESTIONS = {
    "reserves_or_counts": "Does {0} keep power back by class, or does it count what is drawn? Look into its settings "
    "or its manual: {1}.",
    "read_level_there": "Read the level in {0} next, turning within a circle of one metre: about {1} minutes with the walk.",
}
