"""The fixed sentences behind the codes that the rooms give. Trade words and plain words, nothing else."""

from __future__ import annotations

SEVERITY = {"hurt": "can hurt", "outage": "goes dark", "money": "costs money", "tidy": "untidy"}

CAUTIONS = {
    "volts_first": "Meter volts DC, then AC, on every pair before tone, ohms or a resistor. A telephone line holds about 48 V "
    "and rings with about 90 V AC.",
    "local_trades": "Mains, fire, lift and alarm lines are for licensed trades and the responsible company; local code decides.",
    "nothing_cut": "Nothing is cut until it is known what it is not. Silent is not idle.",
    "never_patch_always_on": "Never patch a 24 V always-on port to an outlet whose far end nobody knows.",
    "power_off_first": "Turn a powered port off before you pull its plug.",
    "hidden_work": "Before any wall or ceiling is opened: old paint may hold lead, boards and lagging may hold asbestos, mains may "
    "lie behind. Local rules and licensed trades decide.",
    "old_paint": "Old paint may hold lead: no dry scraping, no sanding; local rules decide.",
    "storm": "No work outdoors or on long copper while a storm is near.",
    "no_sample_no_drilling": "No sample means no drilling in suspect board. Sampling is for a certified firm; local rules decide.",
    "battery": "Lead batteries are heavy, gas when charged and burn when shorted; keep metal away from both poles.",
}

ASSUMED = {
    "temperature_10_30": "copper between 10 and 30 °C",
    "supply_24_nominal": "24 V sources give 24.0 V",
    "unknown_length_0_90": "a run of unknown length is 0 to 90 m of 22 to 26 AWG",
    "battery_minutes_as_noted": "batteries hold for the minutes that were noted, and no longer",
    "cords_not_counted": "cords are not counted",
}

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
}

SAID = {
    "table_twice": "The table {0} stands in several places; all were read: {1}.",
    "not_a_table": "{0} is no sheet of cells and was not read.",
    "sheet_empty": "{0} is empty.",
    "merged": "{0}: the merged cells {1} were taken as one value for each of their rows.",
    "rows_left": "{0}: these rows gave nothing, for the cell of their tag is blank: {1}.",
    "photos_destroyed": "{0} of the photographs were destroyed on request and do not come back.",
    "photos_elsewhere": "Photographs known by their hash only, whose bytes may come later: {0} {1}",
}
