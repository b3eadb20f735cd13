"""What a veteran expects: more of what costs money, and what is untidy. Form and purpose as in `cases_by_another`."""

from __future__ import annotations

from tests.notice.cases_by_another import BOAT, CHAPEL, GEAR, MILL, Case
from tests.notice.cases_by_another_money import RUN

MORE_MONEY = (
    # Joined by somebody in bad light: pair 2 meets pair 3.
    Case(
        "splice_pairs",
        "J4",
        BOAT
        + """
cables: cable=CS1, jacket=cat5e
cables: cable=CS2, jacket=cat5e
ends: end=S1, cable=CS1, room=DOCK
ends: end=S1x, cable=CS1
ends: end=S2x, cable=CS2
ends: end=S2y, cable=CS2, room=SAIL
joints: joint=J4, style=splice, ends=end:S1x end:S2x, pairs=1>1 2>3 3>2 4>4
""",
        {
            "pair to pair": ("1>1 2>3 3>2 4>4", "1>1 2>2 3>3 4>4"),
            "nobody has opened it": (", pairs=1>1 2>3 3>2 4>4", ""),
        },
    ),
    # 100 ft of 24 AWG are 30.48 m x 0.1684 ohm = 5.1 ohm there and back; 9 are too many.
    Case(
        "long_loop",
        "B3",
        MILL
        + RUN
        + "measurements: subject=cable:CB3, quantity=loop resistance, value=9.0 ohm, conditions=pair 1 shorted at the outlet",
        {
            "5.3 ohm fit": ("9.0 ohm", "5.3 ohm"),
            "nobody knows its length": (", length_m=100 ft", ""),
            "it is 175 ft long": ("100 ft", "175 ft"),
            "26 AWG has 0.268 ohm a metre of loop: 8.2 ohm": ("gauge_awg=24", "gauge_awg=26", "9.0 ohm", "8.4 ohm"),
        },
    ),
    # Length from the marks on the jacket: 151 - 112 = 39 m, 6.6 ohm; 11 were read.
    Case(
        "long_loop",
        "N4",
        CHAPEL
        + """
cables: cable=CN4, jacket=cat5e, gauge_awg=24
ends: end=N4, cable=CN4, room=VESTRY, mark_m=112
ends: end=N4x, cable=CN4, room=NAVE, mark_m=151
measurements: subject=end:N4, quantity=loop resistance, value=11 ohm
""",
        {"6.7 ohm fit": ("11 ohm", "6.7 ohm")},
    ),
    # Punched by A here and by B there.
    Case(
        "mixed_schemes",
        "B3",
        MILL
        + RUN.replace("room=MEAL", "room=MEAL, scheme=T568A")
        + "jacks: jack=BIN-3.1, connector=8P8C, scheme=T568B",
        {"both by A": ("T568B", "T568A"), "nobody looked at the jack": (", scheme=T568B", "")},
    ),
    # Both ends of one jacket looked at.
    Case(
        "mixed_schemes",
        "CS3",
        BOAT
        + """
cables: cable=CS3, jacket=cat5e
ends: end=S3, cable=CS3, room=DOCK, scheme=T568B
ends: end=S3x, cable=CS3, room=SAIL, scheme=T568A
""",
        {
            "both by B": ("T568A", "T568B"),
            "a telephone end is no T568 order": ("T568B", "telephone", "T568A", "telephone"),
        },
    ),
    # The wire map of a straight run shows pairs 1-2 and 3-6 exchanged.
    Case(
        "mixed_schemes",
        "CB3",
        MILL + RUN + "measurements: subject=cable:CB3, quantity=wire map, value=whole; goes 1>3 2>6 3>1 6>2",
        {"straight": ("whole; goes 1>3 2>6 3>1 6>2", "whole")},
    ),
    # One jack, and the room is to have a till and a printer.
    Case(
        "too_few_jacks",
        "NAVE-1",
        CHAPEL
        + """
outlets: outlet=NAVE-1, room=NAVE, positions=1
needs: need=ND1, room=NAVE, what=till, band=wired, ports=1
needs: need=ND2, room=NAVE, what=printer, band=wired, ports=1
""",
        {
            "two jacks": ("positions=1", "positions=2"),
            "a second plate": ("positions=1", "positions=1\noutlets: outlet=NAVE-2, room=NAVE, positions=1"),
            "the printer needs no wire": ("printer, band=wired, ports=1", "printer, band=5 GHz"),
        },
    ),
    # Tried on an always-on port a unit of 802.3af stays dark, whether it is well or not.
    Case(
        "dead_on_wrong_port",
        "AP7",
        MILL
        + GEAR
        + """
ports: port=HUB.7, gives=24 V always-on, mode_saved=yes
units: unit=AP7, model=APM, health=called dead, tried_on=HUB.7
""",
        {
            "tried on the right port": ("gives=24 V always-on", "gives=802.3af"),
            "802.3at serves it as well": ("gives=24 V always-on", "gives=802.3at"),
            "nobody called it dead": ("health=called dead", "health=works"),
        },
        also="always_on_open",
    ),
    # Nobody can look into the gate's radio.
    Case(
        "login_locked",
        "GATE",
        BOAT + "units: unit=GATE, login=locked",
        {
            "the company's own": ("locked", "not ours"),
            "it may be reset": ("locked", "may be reset"),
            "it is gone": ("login=locked", "login=locked, state=removed"),
        },
    ),
    # A power-line adapter on a filtered strip hears nothing.
    Case(
        "adapter_filtered",
        "PL1",
        CHAPEL
        + """
circuits: circuit=K2, breaker=on
sockets: socket=X5, form=wall, fed_by=K2, filtered=no
sockets: socket=X6, form=strip, fed_by=X5, filtered=yes
models: model=PLM, what=adapter, takes=plug
units: unit=PL1, model=PLM, fed_by=X6
""",
        {
            "straight in the wall": ("model=PLM, fed_by=X6", "model=PLM, fed_by=X5"),
            "a plain strip": ("filtered=yes", "filtered=no"),
            "a switch does not mind": ("what=adapter", "what=switch"),
        },
    ),
    # A plain strip that hangs on the filtered one is filtered too.
    Case(
        "adapter_filtered",
        "PL1",
        CHAPEL
        + """
circuits: circuit=K2, breaker=on
sockets: socket=X6, form=strip, fed_by=K2, filtered=yes
sockets: socket=X7, form=strip, fed_by=X6, filtered=no
models: model=PLM, what=adapter, takes=plug
units: unit=PL1, model=PLM, fed_by=X7
""",
        {"the first is plain": ("filtered=yes", "filtered=no")},
    ),
    # A coupler that was to stay for a week.
    Case(
        "temporary_over",
        "TW5",
        MILL + "temporary_works: temporary=TW5, what=a coupler in the feed, room=MEAL, must_end=2026-02-01",
        {
            "it may stay till summer": ("2026-02-01", "2026-07-01"),
            "ended": ("must_end", "ended=yes, must_end"),
            "no end was agreed": (", must_end=2026-02-01", ""),
        },
    ),
)

TIDY = (
    # Pinned out and plugged into the switch: it is to carry data.
    Case(
        "split_unseen",
        "B3",
        MILL + GEAR + RUN.replace("room=MEAL", "room=MEAL, plugged=HUB.1") + "ports: port=HUB.1, gives=nothing",
        {
            "it ran at 1000 for ten minutes": (
                "ports:",
                "measurements: subject=cable:CB3, quantity=ran at, value=1000 Mb/s, grade=ran\nports:",
            ),
            "it is not plugged in": ("room=MEAL, plugged=HUB.1", "room=MEAL"),
        },
    ),
    # Continuity passed; the office's data is to go over it.
    Case(
        "split_unseen",
        "B3",
        MILL
        + RUN
        + """
services: service=OFFICE, needs=data, arrives_at=outlet:BIN-3, source=own, carried_on=end:B3
measurements: subject=cable:CB3, quantity=wire map, value=whole, grade=pinned out
""",
        {
            "it ran at 1000 for ten minutes": (
                "measurements:",
                "measurements: subject=cable:CB3, quantity=ran at, value=1000 Mb/s, grade=ran\nmeasurements:",
            ),
            "it is for a telephone": ("needs=data", "needs=line"),
            "nothing is to run on it": (
                "services: service=OFFICE, needs=data, arrives_at=outlet:BIN-3, source=own, carried_on=end:B3",
                "",
            ),
        },
    ),
    # A stocked wardrobe stands before the plate.
    Case(
        "plate_blocked",
        "SAIL-1",
        BOAT + "outlets: outlet=SAIL-1, room=SAIL, blocked_by=rack with the sails",
        {
            "it was seen to be free": ("blocked_by=rack with the sails", "blocked_by=none"),
            "there is no plate yet": ("blocked_by", "state=removed, blocked_by"),
        },
    ),
    # Painted over three times.
    Case(
        "plate_blocked",
        "NAVE-4",
        CHAPEL + "outlets: outlet=NAVE-4, room=NAVE, condition=painted over",
        {"good": ("painted over", "good"), "only not opened yet": ("painted over", "not opened")},
    ),
    # Out of use, in nobody's way and on nobody's list.
    Case(
        "abandoned",
        "CB20",
        MILL + "cables: cable=CB20, jacket=quad, state=out of use\nends: end=B20, cable=CB20, room=MEAL",
        {
            "tagged for later use": ("state=out of use", "state=out of use, reserved=yes"),
            "taken out": ("out of use", "removed"),
            "both ends are on connectors, so the US code does not call it abandoned": (
                "end=B20, cable=CB20, room=MEAL",
                "end=B20, cable=CB20, room=MEAL, ends_at=row:BL.1\nends: end=B20x, cable=CB20, ends_at=outlet:BIN-9"
                "\nblocks: block=BL, room=MEAL\nrows: row=BL.1\noutlets: outlet=BIN-9, room=BIN",
            ),
        },
        also="silent_as_idle",  # out of use, but nobody metered it
    ),
    # Cut last week by the technician.
    Case(
        "abandoned",
        "CN9",
        CHAPEL + "cables: cable=CN9, jacket=quad\nacts: act=cut, subject=cable:CN9, at=2026-03-05",
        {"and mended since": ("at=2026-03-05", "at=2026-03-05\nacts: act=mend, subject=cable:CN9, at=2026-03-07")},
        also="silent_as_idle",  # cut without a meter
    ),
    # Cut off at both ends, metered and found without volts, and no tag says that anybody wants it.
    Case(
        "abandoned",
        "CS20",
        BOAT
        + """
cables: cable=CS20, jacket=quad
ends: end=S20, cable=CS20, room=DOCK, ends_at=stop:cut, carries=use:idle
ends: end=S20x, cable=CS20, room=SAIL, ends_at=stop:cut
measurements: subject=end:S20, quantity=volts DC, value=none
measurements: subject=end:S20, quantity=volts AC, value=none
""",
        {
            "tagged for later use": ("jacket=quad", "jacket=quad, reserved=yes"),
            "both ends are still on a row and a plate": (
                "room=DOCK, ends_at=stop:cut",
                "room=DOCK, ends_at=row:BL.1",
                "room=SAIL, ends_at=stop:cut",
                "room=SAIL, ends_at=outlet:SAIL-9",
                "measurements: subject=end:S20, quantity=volts AC, value=none",
                "blocks: block=BL, room=DOCK\nrows: row=BL.1\noutlets: outlet=SAIL-9, room=SAIL"
                "\nmeasurements: subject=end:S20, quantity=volts AC, value=none",
            ),
        },
    ),
    # Toned before the new kitchen; eight years are long.
    Case(
        "stale",
        "B3",
        MILL
        + """
ends: end=B3, room=MEAL
outlets: outlet=BIN-3, room=BIN
claims: subject=end:B3, relation=goes_to, object=outlet:BIN-3, grade=toned, at=2018
""",
        {
            "toned last year": ("at=2018", "at=2025-09"),
            "and found again this year": (
                "at=2018",
                "at=2018\nclaims: subject=end:B3, relation=goes_to, object=outlet:BIN-3, grade=toned, at=2026-02",
            ),
        },
    ),
    # Since it was toned somebody joined another end to it.
    Case(
        "stale",
        "S6",
        BOAT
        + """
ends: end=S6, room=DOCK
ends: end=S7, room=DOCK
outlets: outlet=SAIL-6, room=SAIL
claims: subject=end:S6, relation=goes_to, object=outlet:SAIL-6, grade=toned, at=2026-01-15
acts: act=join, subject=end:S6, object=end:S7, at=2026-02-15
""",
        {"it was toned after that": ("at=2026-01-15", "at=2026-02-20")},
        also="bridged",
    ),
    # BO8 and B08: who reads the tag in the roof takes the wrong one.
    Case(
        "look_alike",
        "BO8",
        MILL + "ends: end=BO8, room=MEAL\nends: end=B08, room=MEAL",
        {
            "K7 and W2": ("BO8", "K7", "B08", "W2"),
            "one of them is an outlet, not an end": ("ends: end=BO8, room=MEAL", "outlets: outlet=BO8, room=BIN"),
        },
    ),
    # A one and an I.
    Case(
        "look_alike",
        "N1",
        CHAPEL + "cables: cable=N1, jacket=quad\ncables: cable=NI, jacket=quad",
        {"numbers that follow each other are no riddle": ("cable=NI", "cable=N2")},
    ),
)
