"""What a veteran expects: what goes dark by mains, incoming lines and companies. Form and purpose as in `cases_by_another`."""

from __future__ import annotations

from tests.notice.cases_by_another import BOAT, CHAPEL, GEAR, MILL, Case

OUTAGE = (
    # The line that everything hangs on looks like all the others: the next hand cuts it.
    Case(
        "feed_unlabelled",
        "M1",
        MILL
        + """
companies: company=NETCO
cables: cable=CM1, jacket=drop wire
ends: end=M1, cable=CM1, room=MEAL, label=none
incoming_lines: incoming_line=IL1, medium=copper, provider=NETCO, cable=CM1
""",
        {
            "a red tag hangs on its end": ("label=none", "label=INCOMING DO NOT TOUCH"),
            "the line itself is noted with its label": ("provider=NETCO", "provider=NETCO, label=INCOMING"),
            "the grey cable beside it is no incoming line": ("cable=CM1\n", "enters_at=roof\n"),
        },
    ),
    # The same, known only from where the service comes in.
    Case(
        "feed_unlabelled",
        "D1",
        BOAT
        + """
cables: cable=CD1, jacket=cat5e, outdoors=yes
ends: end=D1, cable=CD1, room=DOCK, found=grey among other grey ones, label=none
units: unit=TILL, name=ticket till
services: service=NET, arrives_at=unit:TILL, needs=data, source=feed, from=end:D1, keep=yes
""",
        {"it is labelled": ("label=none", "label=roof radio")},
    ),
    # One wall switch by the door ends the bookings.
    Case(
        "switched_path",
        "WS1",
        BOAT
        + """
circuits: circuit=BT, breaker=on
switches: switch=WS1, room=DOCK, fed_by=BT, usual=on
sockets: socket=X1, room=DOCK, fed_by=WS1
models: model=RTM, what=router, takes=plug, passes=when powered
units: unit=RT, model=RTM, room=DOCK, fed_by=X1
services: service=BOOK, name=bookings, arrives_at=unit:RT, needs=power, source=none, keep=yes
""",
        {
            "the socket hangs on its own circuit": ("fed_by=WS1", "fed_by=BT"),
            "only a lamp hangs on the switched socket": (
                "room=DOCK, fed_by=X1",
                "room=DOCK, fed_by=X2\nsockets: socket=X2, room=DOCK, fed_by=BT",
            ),
            "nobody minds when it goes": ("keep=yes", "keep=no"),
        },
    ),
    # 49 V on a pair that nobody claims: a bell will ring somewhere when it is cut, or not ring when it should.
    Case(
        "live_unknown",
        "N5",
        CHAPEL
        + """
cables: cable=CN5, jacket=quad
ends: end=N5, cable=CN5, room=VESTRY, found=loose
measurements: subject=end:N5, quantity=volts DC, value=49.2 V, grade=metered
""",
        {
            "it is known whose it is": (
                "found=loose",
                "found=loose, carries=service:BELL\nservices: service=BELL, name=sexton's telephone, needs=line, keep=yes",
            ),
            "a few millivolts are no voltage": ("49.2 V", "18 mV"),
            "the service says on which end it runs": (
                "found=loose",
                "found=loose\nservices: service=BELL, name=sexton's telephone, needs=line, keep=yes, carried_on=end:N5",
            ),
        },
    ),
    # 15 V AC: a door phone or a bell, on one pair of a cable thought to be telephone.
    Case(
        "live_unknown",
        "CB9.2",
        MILL
        + """
cables: cable=CB9, jacket=station wire, pairs=2
pairs: pair=CB9.2
measurements: subject=pair:CB9.2, quantity=volts AC, value=15.1 V, grade=metered
""",
        {
            "it is the door phone": (
                "pairs: pair=CB9.2",
                "pairs: pair=CB9.2\nservices: service=DOOR, name=door phone, needs=power, carried_on=pair:CB9.2",
            ),
            "nothing was read": ("15.1 V", "none"),
        },
    ),
    # Our own port puts these volts there; that is no riddle.
    Case(
        "live_unknown",
        "S3",
        BOAT
        + GEAR
        + """
cables: cable=CS3, jacket=cat5e
ends: end=S3, cable=CS3, room=DOCK
measurements: subject=end:S3, quantity=volts DC, value=23.7 V, grade=metered
""",
        {
            "it is plugged into a port that gives 24 V": (
                "room=DOCK\n",
                "room=DOCK, plugged=HUB.2\nports: port=HUB.2, gives=24 V always-on, mode_saved=yes\n",
            )
        },
        also="always_on_open",
    ),
    # The alarm company's pair stands on the work list, and the alarm company knows nothing of it.
    Case(
        "work_on_protected",
        "B11",
        MILL
        + """
companies: company=ALARM, hours=Mo-Fr 8-17
cables: cable=CB11, jacket=quad
ends: end=B11, cable=CB11, room=MEAL
services: service=FIRE, name=fire dialler, needs=line, protected_by=ALARM, carried_on=end:B11, keep=yes
tasks: task=T1, what=punch down anew, on=end:B11
""",
        {
            "the task is on the cable beside it": (
                "what=punch down anew, on=end:B11",
                "on=end:B12\nends: end=B12, room=MEAL",
            ),
            "it is done": ("what=punch down anew", "what=punch down anew, done=yes"),
        },
    ),
    # The service runs on one pair; the work is on the whole cable.
    Case(
        "work_on_protected",
        "CN7",
        CHAPEL
        + """
companies: company=LIFTCO
cables: cable=CN7, jacket=25-pair
pairs: pair=CN7.4
services: service=CAB, name=lift telephone, needs=line, protected_by=LIFTCO, carried_on=pair:CN7.4, keep=yes
tasks: task=T1, what=shorten the cable, on=cable:CN7
""",
        {"nobody's company protects it": ("protected_by=LIFTCO, ", "")},
    ),
    # Their line is to be touched; they answer on weekdays, and the visit is a weekend.
    Case(
        "company_shut",
        "ALARM",
        CHAPEL
        + """
companies: company=ALARM, hours=Mo-Fr 8-17
ends: end=N9, room=VESTRY
services: service=BELL, name=alarm dialler, needs=line, protected_by=ALARM, carried_on=end:N9, keep=yes
visits: visit=V3, arrives=2026-03-14T08:00+01:00, leaves=2026-03-15T20:00+01:00
""",
        {
            "the visit takes in the Friday": ("2026-03-14T08", "2026-03-13T08"),
            "they answer on Saturdays": ("Mo-Fr 8-17", "Mo-Sa 8-17"),
            "they answer day and night": ("Mo-Fr 8-17", "always"),
            "that visit is over": ("2026-03-14", "2026-02-14", "2026-03-15", "2026-02-15"),
            "nothing here is theirs": ("protected_by=ALARM, ", ""),
        },
    ),
    # Their box is to be moved; they answer on weekdays, and the visit is a weekend.
    Case(
        "company_shut",
        "NETCO",
        BOAT
        + """
companies: company=NETCO, hours=Mo-Fr 8-17
units: unit=BOX, room=DOCK, protected_by=NETCO, owned_by=NETCO
visits: visit=V7, arrives=2026-03-14, leaves=2026-03-15
tasks: task=T1, what=move their box, on=unit:BOX, visit=V7, nature=company
""",
        {
            "the visit takes in the Friday": ("arrives=2026-03-14", "arrives=2026-03-13"),
            "they answer on Saturdays": ("Mo-Fr 8-17", "Mo-Sa 8-17"),
            "that visit is over": ("2026-03-14", "2026-02-14", "2026-03-15", "2026-02-15"),
        },
        also="work_on_protected",
    ),
    # The router hangs on the side of the battery box that dies with the mains.
    Case(
        "surge_only",
        "RT",
        MILL
        + """
circuits: circuit=K1, breaker=on
models: model=UPM, what=UPS, takes=plug
models: model=RTM, what=router, takes=plug, passes=when powered
units: unit=UPS, model=UPM, fed_by=K1, battery_date=2025-05
ports: port=UPS.1, gives=battery mains
ports: port=UPS.4, gives=mains
units: unit=RT, model=RTM, fed_by=UPS.4
services: service=NET, arrives_at=unit:RT, needs=power, source=none, keep=yes
""",
        {
            "it hangs on the battery side": ("fed_by=UPS.4", "fed_by=UPS.1"),
            "a laser printer belongs on that side": (
                "units: unit=RT, model=RTM, fed_by=UPS.4",
                "units: unit=RT, model=RTM, fed_by=UPS.1\nmodels: model=PRM, what=printer, takes=plug"
                "\nunits: unit=PRN, model=PRM, fed_by=UPS.4",
            ),
        },
    ),
    # The same with a strip of sockets in between.
    Case(
        "surge_only",
        "RT",
        MILL
        + """
models: model=UPM, what=UPS, takes=plug
models: model=RTM, what=router, takes=plug, passes=when powered
circuits: circuit=K1, breaker=on
units: unit=UPS, model=UPM, fed_by=K1, battery_date=2025-05
ports: port=UPS.1, gives=battery mains
ports: port=UPS.4, gives=mains
sockets: socket=STRIP, form=strip, fed_by=UPS.4
units: unit=RT, model=RTM, fed_by=STRIP
services: service=NET, arrives_at=unit:RT, needs=power, source=none, keep=yes
""",
        {"the strip hangs on the battery side": ("fed_by=UPS.4", "fed_by=UPS.1")},
    ),
)
