"""The rest of what a veteran expects: what costs money or is untidy. Form and purpose as in `cases_by_another`."""

from __future__ import annotations

from tests.notice.cases_by_another import BOAT, CHAPEL, GEAR, MILL, Case

RUN = """
cables: cable=CB3, jacket=cat5e, pairs=4, gauge_awg=24, length_m=100 ft
ends: end=B3, cable=CB3, room=MEAL, goes_to=BIN-3, grade=pinned out
outlets: outlet=BIN-3, room=BIN, positions=1
"""

TONED = """
ends: end=S1, room=DOCK
ends: end=S2, room=DOCK
outlets: outlet=SAIL-1, room=SAIL
outlets: outlet=SAIL-2, room=SAIL
claims: subject=end:S1, relation=goes_to, object=outlet:SAIL-1, grade=toned, at=2026-01-10
claims: subject=end:S2, relation=goes_to, object=outlet:SAIL-2, grade=toned, at=2026-01-10
"""
SAME = """
claims: subject=end:S1, relation=goes_to, object=outlet:SAIL-1, grade=toned, at=2026-03-05
claims: subject=end:S2, relation=goes_to, object=outlet:SAIL-2, grade=toned, at=2026-03-05
"""
OTHER = """
claims: subject=end:S1, relation=goes_to, object=outlet:SAIL-2, grade=toned, at=2026-03-05
claims: subject=end:S1, relation=goes_to, object=outlet:SAIL-1, holds=no, grade=toned, at=2026-03-05
"""

MONEY = (
    # A guest plugs a laptop into 24 V.
    Case(
        "always_on_open",
        "HUB.4",
        MILL
        + GEAR
        + RUN.replace("positions=1", "positions=1, reachable=yes")
        + """
ports: port=HUB.4, gives=24 V always-on, mode_saved=yes
plugged: plug=end:B3, into=port:HUB.4
""",
        {
            "a radio that wants it hangs there": (
                "plugged: plug",
                "units: unit=R1, model=RAD, room=BIN\nports: port=R1.1, plugged=outlet:BIN-3\nplugged: plug",
            ),
            "the port is off": ("gives=24 V always-on", "gives=nothing"),
            "the plug was drawn": ("into=port:HUB.4", "into=port:HUB.4, holds=no"),
        },
        also="split_unseen",
    ),
    # One says it goes to the bin loft, and the tone was not heard there.
    Case(
        "contradicted",
        "B3",
        MILL
        + """
ends: end=B3, room=MEAL
outlets: outlet=BIN-3, room=BIN
claims: subject=end:B3, relation=goes_to, object=outlet:BIN-3, grade=toned, at=2026-02-20
claims: subject=end:B3, relation=goes_to, object=outlet:BIN-3, holds=no, grade=pinned out, at=2026-02-21
""",
        {
            "an old label alone says no": ("holds=no, grade=pinned out", "holds=no, grade=told"),
            "both say that it goes there": ("holds=no, ", "holds=yes, "),
        },
    ),
    # A jacket has two ends: it cannot have two other ends.
    Case(
        "contradicted",
        "N1",
        CHAPEL
        + """
ends: end=N1, room=VESTRY
ends: end=NX, room=NAVE
ends: end=NY, room=ORGAN
claims: subject=end:N1, relation=other_end, object=end:NX, grade=seen
claims: subject=end:N1, relation=other_end, object=end:NY, grade=seen
""",
        {"the second was seen not to be it": ("object=end:NY, grade", "object=end:NY, holds=no, grade")},
    ),
    # In January two runs were toned; in March each is found at the other's outlet: the tags changed places.
    Case(
        "tags_exchanged",
        "S1",
        BOAT
        + TONED
        + OTHER
        + """
claims: subject=end:S2, relation=goes_to, object=outlet:SAIL-1, grade=toned, at=2026-03-05
claims: subject=end:S2, relation=goes_to, object=outlet:SAIL-2, holds=no, grade=toned, at=2026-03-05
""",
        {
            "both are found where they were": BOAT + TONED + SAME,
            "only one of them was looked at again": BOAT + TONED + OTHER,
        },
        also="contradicted",
    ),
    # Two plugs in one hole: one of both notes is old.
    Case(
        "crowded",
        "HUB.1",
        MILL
        + GEAR
        + """
ports: port=HUB.1, gives=nothing
ports: port=TILL.1, plugged=port:HUB.1
ends: end=B3, room=MEAL, plugged=HUB.1
units: unit=TILL
""",
        {
            "the end was drawn first": (
                "plugged=HUB.1\n",
                "plugged=HUB.1\nacts: act=unplug, subject=end:B3, object=port:HUB.1, at=2026-03-04\n",
            ),
            "the next port holds it": (
                "room=MEAL, plugged=HUB.1",
                "room=MEAL, plugged=HUB.2\nports: port=HUB.2, gives=nothing",
            ),
        },
    ),
    # A plate with one jack and two plugs in it.
    Case(
        "crowded",
        "NAVE-2",
        CHAPEL
        + """
outlets: outlet=NAVE-2, room=NAVE, positions=1
ports: port=PRN.1, plugged=outlet:NAVE-2
ports: port=TILL.1, plugged=outlet:NAVE-2
units: unit=PRN
units: unit=TILL
""",
        {"the plate has two": ("positions=1", "positions=2")},
    ),
    # Power over a twisted-together joint in the roof: heat, and a unit that restarts in the evening.
    Case(
        "power_through_joint",
        "HUB.2",
        BOAT
        + GEAR
        + """
ports: port=HUB.2, gives=802.3af, mode_saved=yes
cables: cable=CS1, jacket=cat5e
cables: cable=CS2, jacket=cat5e
ends: end=S1, cable=CS1, room=DOCK, plugged=HUB.2
ends: end=S1x, cable=CS1
ends: end=S2x, cable=CS2
ends: end=S2y, cable=CS2, room=SAIL, ends_at=outlet:SAIL-1
joints: joint=J1, style=splice, ends=end:S1x end:S2x
outlets: outlet=SAIL-1, room=SAIL, positions=1
units: unit=APS, model=APM, room=SAIL
ports: port=APS.1, plugged=outlet:SAIL-1
""",
        {
            "the port gives no power": ("gives=802.3af", "gives=nothing"),
            "the joint is in another run": (
                "ends=end:S1x end:S2x",
                "ends=end:S8x end:S9x\nends: end=S8x\nends: end=S9x",
            ),
        },
    ),
    # A staple between blue and brown: two wires that touch, found by the wire map.
    Case(
        "damaged_pairs",
        "CB3",
        MILL + RUN + "measurements: subject=cable:CB3, quantity=wire map, value=whole; touch 5+7",
        {
            "all eight go straight": ("whole; touch 5+7", "whole"),
            "four were tried and are good": ("whole; touch 5+7", "whole 1 2 3 6"),
        },
    ),
    # The kitchen fitter cut one pair 62 feet away.
    Case(
        "damaged_pairs",
        "CN1",
        CHAPEL + "cables: cable=CN1, jacket=cat5e\npairs: pair=CN1.4, condition=open, open_at_m=62 ft",
        {
            "it is whole": ("condition=open, open_at_m=62 ft", "condition=whole"),
            "it was pulled out": ("jacket=cat5e", "jacket=cat5e, state=removed"),
        },
    ),
    # A switch on four untwisted wires: it links at 10 and counts errors at 100.
    Case(
        "quad_data",
        "CS5",
        BOAT
        + GEAR
        + """
cables: cable=CS5, jacket=quad, pairs=2, twisted=no
ends: end=S5, cable=CS5, room=DOCK, plugged=HUB.6, goes_to=SAIL-5, grade=toned
ports: port=HUB.6, gives=nothing
outlets: outlet=SAIL-5, room=SAIL, positions=1
units: unit=TILL, room=SAIL
ports: port=TILL.1, plugged=outlet:SAIL-5
services: service=TICKETS, arrives_at=unit:TILL, needs=data, source=own, from=unit:HUB, carried_on=end:S5, keep=yes
""",
        {
            "a telephone runs on it": (
                "plugged=HUB.6, ",
                "",
                "needs=data, source=own, from=unit:HUB",
                "needs=line, source=none",
            ),
            "it is twisted": ("jacket=quad, pairs=2, twisted=no", "jacket=cat3, pairs=2, twisted=yes"),
        },
    ),
    # A clip bridges two rows: a tone on one cable is heard on both.
    Case(
        "bridged",
        "CN1",
        CHAPEL
        + """
blocks: block=BL, room=VESTRY, style=split
rows: row=BL.3, clip_to=BL.4
rows: row=BL.4
cables: cable=CN1, jacket=quad
cables: cable=CN2, jacket=quad
ends: end=N1, cable=CN1, room=VESTRY, ends_at=row:BL.3
ends: end=N2, cable=CN2, room=VESTRY, ends_at=row:BL.4
""",
        {
            "no clip": ("rows: row=BL.3, clip_to=BL.4", "rows: row=BL.3"),
            "the clip was taken off": (
                "blocks:",
                "acts: act=part, subject=row:BL.3, object=row:BL.4, at=2026-03-06\nblocks:",
            ),
        },
    ),
    # A tap: three ends under one connector behind the organ.
    Case(
        "bridged",
        "CN3",
        CHAPEL
        + """
cables: cable=CN3, jacket=station wire
cables: cable=CN4, jacket=station wire
cables: cable=CN5, jacket=station wire
ends: end=N3, cable=CN3, room=VESTRY
ends: end=N3x, cable=CN3
ends: end=N4x, cable=CN4
ends: end=N5x, cable=CN5
joints: joint=J7, style=tap, ends=end:N3x end:N4x end:N5x, room=ORGAN
""",
        {"only a look was taken": ("joints: joint=J7, style=tap, ends=end:N3x end:N4x end:N5x, room=ORGAN", "")},
    ),
    # Two jackets punched on one row.
    Case(
        "shared_row",
        "BL.7",
        MILL
        + """
blocks: block=BL, room=MEAL, style=split
rows: row=BL.7
rows: row=BL.8
cables: cable=CB1, jacket=quad
cables: cable=CB2, jacket=quad
ends: end=B1, cable=CB1, room=MEAL, ends_at=row:BL.7
ends: end=B2, cable=CB2, room=MEAL, ends_at=row:BL.7
""",
        {
            "each has its row": (
                "end=B2, cable=CB2, room=MEAL, ends_at=row:BL.7",
                "end=B2, cable=CB2, room=MEAL, ends_at=row:BL.8",
            ),
            "one was lifted since": (
                "rows: row=BL.8",
                "rows: row=BL.8\nacts: act=take off, subject=end:B2, object=row:BL.7, at=2026-03-04",
            ),
        },
        also="bridged",
    ),
    # One jacket that begins and ends in the closet, as the metre marks show.
    Case(
        "ring",
        "B5",
        MILL
        + """
cables: cable=CB5, jacket=quad, length_m=140 ft
ends: end=B5, cable=CB5, room=MEAL
ends: end=B6, cable=CB5, room=MEAL
""",
        {
            "its other end is in the bin loft": ("end=B6, cable=CB5, room=MEAL", "end=B6, cable=CB5, room=BIN"),
            "it is a patch cord of 3 feet from port to port": (
                "jacket=quad, length_m=140 ft",
                "jacket=cord, length_m=3 ft",
                "end=B5, cable=CB5, room=MEAL",
                "end=B5, cable=CB5, room=MEAL, plugged=HUB.2",
                "end=B6, cable=CB5, room=MEAL",
                "end=B6, cable=CB5, room=MEAL, plugged=RT.1\nports: port=HUB.2, gives=nothing\nports: port=RT.1"
                "\nunits: unit=HUB, room=MEAL\nunits: unit=RT, room=MEAL",
            ),
            "a jumper from the block to the switch": (
                "jacket=quad, length_m=140 ft",
                "jacket=cat5e, length_m=6 ft",
                "end=B6, cable=CB5, room=MEAL",
                "end=B6, cable=CB5, room=MEAL, plugged=HUB.1\nports: port=HUB.1, gives=nothing\nunits: unit=HUB, room=MEAL",
            ),
        },
    ),
    # The same, told by the claim that both are ends of one cable.
    Case(
        "ring",
        "S3",
        BOAT
        + """
ends: end=S3, room=DOCK
ends: end=S4, room=DOCK
claims: subject=end:S3, relation=other_end, object=end:S4, grade=pinned out
""",
        {"it is ruled out": ("object=end:S4, ", "object=end:S4, holds=no, ")},
    ),
    # The tone is heard behind two plates.
    Case(
        "chain",
        "B6",
        MILL
        + """
cables: cable=CB6, jacket=quad
ends: end=B6, cable=CB6, room=MEAL
outlets: outlet=STONE-1, room=STONE
outlets: outlet=BIN-1, room=BIN
claims: subject=end:B6, relation=goes_to, object=outlet:STONE-1, grade=toned
claims: subject=end:B6, relation=goes_to, object=outlet:BIN-1, grade=toned
""",
        {"it was not heard behind the second": ("object=outlet:BIN-1, ", "object=outlet:BIN-1, holds=no, ")},
    ),
    # Two jackets behind the plate and one of them known: the other leads on to the next room.
    Case(
        "chain",
        "N1",
        CHAPEL
        + """
cables: cable=CN1, jacket=quad
ends: end=N1, cable=CN1, room=VESTRY, goes_to=NAVE-1
outlets: outlet=NAVE-1, room=NAVE, sheaths=2
""",
        {
            "one jacket": ("sheaths=2", "sheaths=1"),
            "two home runs to one plate": (
                "goes_to=NAVE-1",
                "goes_to=NAVE-1\ncables: cable=CN2, jacket=quad\nends: end=N2, cable=CN2, room=VESTRY, goes_to=NAVE-1",
            ),
        },
    ),
    # In by one end and out by the other: two cables end behind one plate and are looped there.
    Case(
        "chain",
        "S1",
        BOAT
        + """
cables: cable=CS1, jacket=quad
cables: cable=CS2, jacket=quad
ends: end=S1, cable=CS1, room=DOCK
ends: end=S1x, cable=CS1, ends_at=outlet:SAIL-1
ends: end=S2x, cable=CS2, ends_at=outlet:SAIL-1
ends: end=S2y, cable=CS2, ends_at=outlet:SAIL-2
joints: joint=J1, style=loop, ends=end:S1x end:S2x
outlets: outlet=SAIL-1, room=SAIL
outlets: outlet=SAIL-2, room=SAIL
""",
        {
            "the second cable comes from the closet itself": (
                "joints: joint=J1, style=loop, ends=end:S1x end:S2x\n",
                "",
                "ends: end=S2y, cable=CS2, ends_at=outlet:SAIL-2",
                "ends: end=S2, cable=CS2, room=DOCK",
                "outlet=SAIL-1, room=SAIL",
                "outlet=SAIL-1, room=SAIL, positions=2",
            )
        },
    ),
    # Nine jackets go into the shaft and seven come out: two are joined on the way.
    Case(
        "hidden_joint",
        "SH1",
        MILL + "pathways: pathway=SH1, style=shaft, rooms=MEAL BIN, sheaths_in=9, sheaths_out=7",
        {"all come out": ("sheaths_out=7", "sheaths_out=9"), "nobody counted above": (", sheaths_out=7", "")},
    ),
    # Blue new cable here and four old wires there: one jacket cannot be both.
    Case(
        "hidden_joint",
        "N8",
        CHAPEL
        + """
cables: cable=CN8
ends: end=N8, cable=CN8, room=VESTRY, jacket=cat5e, pairs=4
ends: end=N8x, cable=CN8, room=ORGAN, jacket=quad, pairs=2
""",
        {
            "it is the same at both": ("jacket=quad, pairs=2", "jacket=cat5e, pairs=4"),
            "nobody saw the far end": (", jacket=quad, pairs=2", ""),
        },
    ),
)
