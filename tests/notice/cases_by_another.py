"""What a veteran expects, written by somebody who had not seen the rules: small invented sites and their near misses.

One row a line, `table: column=cell, column=cell`; a row without grade or day is seen by TEC on 2026-03-01; the day of
asking is 2026-03-10. `fires` is the site in which `code` must be told at a place that contains `where`; `silent` are
look-alikes in which it must not: replacements in `fires` (old, new, old, new ...) or another whole site.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping


@dataclasses.dataclass(frozen=True)
class Case:
    """One problem in one small site, with sites that only look like it; `also` names what else is rightly told there."""

    code: str
    where: str
    fires: str
    silent: Mapping[str, tuple[str, ...] | str]
    also: str = ""


MILL = """
property: property=WEM, name=Weir Mill (invented)
rooms: room=MEAL, name=meal floor, closet=yes
rooms: room=STONE, name=stone floor
rooms: room=BIN, name=bin loft
"""
BOAT = """
property: property=BHS, name=a boathouse (invented)
rooms: room=DOCK, closet=yes
rooms: room=SAIL, name=sail loft
"""
CHAPEL = """
property: property=CHP, name=a chapel let to visitors (invented)
rooms: room=VESTRY, closet=yes
rooms: room=NAVE
rooms: room=ORGAN, name=organ loft
"""
GEAR = """
models: model=SWM, what=switch, passes=when powered, takes=plug
models: model=APM, what=access point, takes=802.3af, passes=when powered
models: model=RAD, what=radio, takes=24 V always-on, passes=when powered
circuits: circuit=K1, breaker=on
units: unit=HUB, model=SWM, fed_by=K1
"""

HURT = (
    # Two trades share one box and no barrier: no screwdriver before the electrician was there.
    Case(
        "mains_in_box",
        "BIN-2",
        MILL + "outlets: outlet=BIN-2, room=BIN, shares_box_with_mains=yes, found=back to back with a socket",
        {
            "the mains socket beside it has its own box": ("mains=yes", "mains=no"),
            "nobody has said what the box holds": ("shares_box_with_mains=yes, ", ""),
        },
    ),
    # A cord over the stair that nobody ended in time: somebody falls.
    Case(
        "temporary_hazard",
        "TW1",
        CHAPEL
        + "temporary_works: temporary=TW1, what=cord over the stair, room=ORGAN, hazard=a fall, must_end=2026-02-20",
        {
            "it was ended": ("must_end=2026-02-20", "must_end=2026-02-20, ended=yes"),
            "it may stay until the end of the month": ("2026-02-20", "2026-03-31"),
            "it is untidy but hurts nobody": ("hazard=a fall, ", ""),
        },
        also="temporary_over",
    ),
    # The visit by whose end the open trunk should be shut is over.
    Case(
        "temporary_hazard",
        "TW2",
        CHAPEL
        + """
visits: visit=V1, arrives=2026-02-10, leaves=2026-02-14
temporary_works: temporary=TW2, what=floor hatch left open, room=NAVE, hazard=a fall of 3 m, until_visit=V1
""",
        {"that visit comes only in May": ("2026-02-10", "2026-05-10", "2026-02-14", "2026-05-14")},
    ),
    # 24 V always-on into an access point for 802.3af through a wall run: no start at best, a burnt port at worst.
    Case(
        "wrong_power",
        "HUB.3",
        MILL
        + GEAR
        + """
ports: port=HUB.3, gives=24 V always-on, mode_saved=yes
cables: cable=CB7, jacket=cat5e, length_m=60 ft
ends: end=B7, cable=CB7, room=MEAL, plugged=HUB.3, goes_to=BIN-1, grade=toned
outlets: outlet=BIN-1, room=BIN, positions=1
units: unit=APB, model=APM, room=BIN
ports: port=APB.1, gives=nothing, plugged=outlet:BIN-1
""",
        {
            "a radio made for 24 V hangs there": ("model=APM, room=BIN", "model=RAD, room=BIN"),
            "the port asks before it gives": ("gives=24 V always-on", "gives=802.3af"),
            "the port is off": ("gives=24 V always-on", "gives=nothing"),
        },
    ),
    # A till with its own mains plug on a patch cord from an always-on port: the port does not ask first.
    Case(
        "wrong_power",
        "HUB.5",
        CHAPEL
        + GEAR
        + """
models: model=TILL, what=terminal, takes=plug
units: unit=SHOP, model=TILL, room=NAVE, fed_by=K1
ports: port=HUB.5, gives=24 V always-on, mode_saved=yes
ports: port=SHOP.1, gives=nothing
cables: cable=PC1, jacket=cord, length_m=6 ft
ends: end=PC1a, cable=PC1, plugged=HUB.5
ends: end=PC1b, cable=PC1, plugged=SHOP.1
""",
        {
            "the cord was moved to the next port, which gives nothing": (
                "plugged=HUB.5",
                "plugged=HUB.6\nports: port=HUB.6, gives=nothing",
            )
        },
    ),
    # A hole through a board of 1962 that nobody had tested: stop.
    Case(
        "suspect_board",
        "H1",
        MILL
        + """
hazards: hazard=H1, style=asbestos, where=room:STONE, sample=not taken, says=grey board behind the stones
tasks: task=T1, what=drill through the north wall, rooms=STONE, nature=noise
""",
        {
            "a sample was clear": ("sample=not taken", "sample=clear, sampled=2026-01-20"),
            "the drilling is in another room": ("rooms=STONE", "rooms=BIN"),
            "it was drilled long ago": ("nature=noise", "nature=noise, done=yes"),
            "only labels are put up there": (
                "drill through the north wall",
                "write labels",
                "nature=noise",
                "nature=quiet",
            ),
        },
    ),
    # The sample was found to be bad, and the work is written down by its plate, not by its room.
    Case(
        "suspect_board",
        "H2",
        CHAPEL
        + """
hazards: hazard=H2, style=asbestos, where=room:NAVE, sample=found, says=board under the gallery
tasks: task=T2, what=drill for a new plate, on=outlet:NAVE-9, nature=noise
outlets: outlet=NAVE-9, room=NAVE, state=planned
""",
        {"the plate is planned in the organ loft": ("outlet=NAVE-9, room=NAVE", "outlet=NAVE-9, room=ORGAN")},
    ),
    # Called idle by somebody's word and no meter: it may be the lift's or the alarm's.
    Case(
        "silent_as_idle",
        "B4",
        MILL
        + """
cables: cable=CB4, jacket=cat3
ends: end=B4, cable=CB4, room=MEAL, carries=use:idle, grade=told
""",
        {
            "volts DC and AC were read and are none": (
                "grade=told",
                "grade=told\nmeasurements: subject=end:B4, quantity=volts DC, value=none, grade=metered"
                "\nmeasurements: subject=end:B4, quantity=volts AC, value=0.02 V, grade=metered",
            ),
            "it is only called silent, which promises nothing": ("use:idle", "use:silent"),
        },
    ),
    # Only direct volts were read; a door phone runs on 16 V AC and would not show.
    Case(
        "silent_as_idle",
        "N2",
        CHAPEL
        + """
cables: cable=CN2, jacket=station wire
ends: end=N2, cable=CN2, room=VESTRY, carries=use:idle
measurements: subject=end:N2, quantity=volts DC, value=0.0 V, grade=metered
""",
        {"both were read": ("value=0.0 V", "value=0.0 V\nmeasurements: subject=end:N2, quantity=volts AC, value=none")},
    ),
    # The claim says idle and the meter says 50 V: the claim is wrong, whoever made it.
    Case(
        "silent_as_idle",
        "CS6.1",
        BOAT
        + """
cables: cable=CS6, jacket=quad, pairs=2
claims: subject=pair:CS6.1, relation=carries, object=use:idle, grade=seen
pairs: pair=CS6.1
measurements: subject=pair:CS6.1, quantity=volts DC, value=-50.4 V, grade=metered
measurements: subject=pair:CS6.1, quantity=volts AC, value=0.0 V, grade=metered
""",
        {"both meters read nothing": ("-50.4 V", "0.03 V")},
        also="live_unknown",
    ),
    # The work list takes a cable out and nobody ever put a meter on it.
    Case(
        "silent_as_idle",
        "CS8",
        BOAT
        + """
cables: cable=CS8, jacket=quad, look=brown
ends: end=S8, cable=CS8, room=DOCK, found=loose
tasks: task=T5, what=take out the brown cable, on=cable:CS8
""",
        {
            "it was metered first": (
                "found=loose",
                "found=loose\nmeasurements: subject=end:S8, quantity=volts DC, value=none"
                "\nmeasurements: subject=end:S8, quantity=volts AC, value=none",
            ),
            "the task only looks at it": ("take out the brown cable", "follow the brown cable by eye"),
        },
    ),
    # A mast whose earth wire hangs loose.
    Case(
        "bond_bad",
        "G1",
        MILL + "units: unit=MAST, name=roof antenna\nbonds: bond=G1, joins=unit:MAST, conductor=6 mm2, condition=loose",
        {
            "it is tight": ("condition=loose", "condition=good"),
            "nobody has looked yet": ("condition=loose", "condition=unknown"),
        },
    ),
    # The earth wire was taken away together with old telephone wire.
    Case(
        "bond_bad",
        "G2",
        CHAPEL + "bonds: bond=G2, conductor=10 AWG, condition=missing, note=only the clamp is left",
        {"it is sound": ("condition=missing", "condition=good")},
    ),
)
