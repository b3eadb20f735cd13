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
    "mast_trades": "Masts, ladders and roofs are for trades with the kit for heights; wind load and planning rules are local.",
    "mast_lightning": "A mast and what leads from it into the house may need bonding and surge protection: local code and a "
    "licensed trade decide.",
    "no_sample_no_drilling": "No sample means no drilling in suspect board. Sampling is for a certified firm; local rules decide.",
    "battery": "Lead batteries are heavy, gas when charged and burn when shorted; keep metal away from both poles.",
}

ASSUMED = {
    "temperature_10_30": "copper between 10 and 30 °C",
    "supply_24_nominal": "24 V sources give 24.0 V",
    "unknown_length_0_90": "a run of unknown length is 0 to 90 m of 22 to 26 AWG",
    "battery_minutes_as_noted": "a UPS holds for the least that its test or battery bears, other batteries for the minutes noted",
    "cords_by_their_length": "a cord counts where its length was noted",
    "ground_unknown": "nothing stands in the way of a link but what is recorded: nobody noted its ground",
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
