"""What a veteran expects: what goes dark by gear, addresses, places and age. Form and purpose as in `cases_by_another`."""

from __future__ import annotations

from tests.notice.cases_by_another import BOAT, CHAPEL, GEAR, MILL, Case

GEAR_OUTAGE = (
    # The radio was taken down, the port goes on giving 24 V to whatever comes next.
    Case(
        "mode_for_gone",
        "HUB.8",
        BOAT
        + GEAR
        + """
units: unit=R8, model=RAD, state=removed
ports: port=HUB.8, gives=24 V always-on, mode_saved=yes, for_unit=R8
""",
        {
            "the port was set off": ("gives=24 V always-on", "gives=nothing"),
            "the radio hangs there": ("state=removed", "room=SAIL\nports: port=R8.1, plugged=port:HUB.8"),
        },
        also="always_on_open",
    ),
    # The access point was moved to another port and the old one kept its setting.
    Case(
        "mode_for_gone",
        "HUB.1",
        MILL
        + GEAR
        + """
units: unit=AP4, model=APM, room=BIN
ports: port=HUB.1, gives=802.3at, mode_saved=yes, for_unit=AP4
ports: port=HUB.2, gives=802.3at, mode_saved=yes
ports: port=AP4.1, plugged=port:HUB.2
""",
        {
            "it hangs there through a wall run": (
                "plugged=port:HUB.2",
                "plugged=outlet:BIN-3\noutlets: outlet=BIN-3, room=BIN\nends: end=B3, room=MEAL, plugged=HUB.1, goes_to=BIN-3",
            )
        },
    ),
    # After the next power cut the radio stays dark, and nobody will know why.
    Case(
        "mode_not_saved",
        "HUB.2",
        CHAPEL
        + GEAR
        + """
units: unit=R2, model=RAD, room=ORGAN
ports: port=HUB.2, gives=24 V always-on, mode_saved=no
ports: port=R2.1, plugged=port:HUB.2
""",
        {
            "it was saved": ("mode_saved=no", "mode_saved=yes"),
            "it gives nothing": ("gives=24 V always-on", "gives=nothing"),
        },
    ),
    # A moved printer has the till's address.
    Case(
        "address_clash",
        "TILL",
        MILL + "units: unit=TILL, address=10.4.0.31\nunits: unit=PRN, address=10.4.0.31",
        {
            "another address": ("PRN, address=10.4.0.31", "PRN, address=10.4.0.13"),
            "the printer was taken away": ("unit=PRN, ", "unit=PRN, state=removed, "),
            "the place and the unit that stands in it have one address": (
                "unit=PRN, address=10.4.0.31",
                "unit=PRN\npositions: position=P1, room=BIN, address=10.4.0.31",
                "unit=TILL, ",
                "unit=TILL, position=P1, ",
            ),
        },
    ),
    # One of both is noted at its place and not at the unit.
    Case(
        "address_clash",
        "CAM",
        BOAT
        + """
positions: position=P7, room=SAIL, address=10.4.0.40
units: unit=AP7, position=P7
units: unit=CAM, address=10.4.0.40
""",
        {"the place has the next one": ("SAIL, address=10.4.0.40", "SAIL, address=10.4.0.41")},
    ),
    # Two networks that never meet may both have a .1 inside.
    Case(
        "address_clash",
        "A1",
        CHAPEL
        + """
networks: network=LET, range=192.168.5.0/24
networks: network=OFFICE, range=192.168.5.0/24
units: unit=A1, address=192.168.5.9
units: unit=A2, address=192.168.5.9
ports: port=A1.1, network=LET
ports: port=A2.1, network=LET
""",
        {"they are on two networks that are parted": ("port=A2.1, network=LET", "port=A2.1, network=OFFICE")},
    ),
    # The old router is used as an access point and still hands out addresses.
    Case(
        "two_servers",
        "OLDRT",
        BOAT
        + """
networks: network=IN, range=10.4.0.0/24
models: model=RTM, what=router, takes=plug, passes=when powered
units: unit=RT, model=RTM, gives_addresses=yes
units: unit=OLDRT, model=RTM, gives_addresses=yes
ports: port=RT.1, network=IN
ports: port=OLDRT.1, network=IN, plugged=port:RT.1
""",
        {
            "it was switched off in the old one": (
                "OLDRT, model=RTM, gives_addresses=yes",
                "OLDRT, model=RTM, gives_addresses=no",
            ),
            "the old one has a network of its own": (
                "networks: network=IN",
                "networks: network=GUEST, range=10.9.0.0/24\nnetworks: network=IN",
                "OLDRT.1, network=IN, plugged=port:RT.1",
                "OLDRT.1, network=GUEST",
            ),
            "the old one lies in a cupboard": (
                "unit=OLDRT, ",
                "unit=OLDRT, state=out of use, ",
                ", plugged=port:RT.1",
                "",
            ),
        },
    ),
    # Somebody presses the reset pin and the access point comes up as the gateway.
    Case(
        "default_clash",
        "AP2",
        MILL
        + """
networks: network=IN, range=192.168.7.0/24, gateway=192.168.7.1
models: model=APD, what=access point, default_address=192.168.7.1
units: unit=AP2, model=APD, room=BIN, address=192.168.7.22
""",
        {
            "it would come up elsewhere": ("default_address=192.168.7.1", "default_address=192.168.77.1"),
            "it is the gateway itself": ("address=192.168.7.22", "address=192.168.7.1"),
        },
    ),
    # A fixed .100 between .20 and .150 will one day be given to a guest as well.
    Case(
        "fixed_in_range",
        "PRN",
        CHAPEL
        + """
networks: network=IN, range=10.4.0.0/24, gateway=10.4.0.1, gives_from=10.4.0.20, gives_to=10.4.0.150
units: unit=PRN, address=10.4.0.100
""",
        {
            "below the range": ("address=10.4.0.100", "address=10.4.0.9"),
            "above the range": ("address=10.4.0.100", "address=10.4.0.200"),
            "of another network": ("address=10.4.0.100", "address=10.5.0.100"),
        },
    ),
    # The same, as the router's own page says it.
    Case(
        "fixed_in_range",
        "PRN",
        BOAT
        + """
units: unit=RT, address=10.4.0.1, gives_addresses=yes, hands_out=10.4.0.20 to 10.4.0.150
units: unit=PRN, address=10.4.0.100
""",
        {"below the range": ("address=10.4.0.100", "address=10.4.0.9")},
    ),
    # Six pairs in gel across the yard: lightning takes both ends.
    Case(
        "between_buildings",
        "CY1",
        """
property: property=WEM, name=Weir Mill (invented)
buildings: building=MILL
buildings: building=KILN
floors: floor=M0, building=MILL
floors: floor=K0, building=KILN
rooms: room=MEAL, floor=M0, closet=yes
rooms: room=DRY, floor=K0
cables: cable=CY1, jacket=gel 6-pair, length_m=120 ft
ends: end=Y1, cable=CY1, room=MEAL
ends: end=Y1k, cable=CY1, room=DRY
""",
        {
            "it is fibre": ("gel 6-pair", "fibre"),
            "both ends lie in the mill": ("floor=K0\n", "floor=M0\n"),
            "it was pulled out": ("length_m=120 ft", "length_m=120 ft, state=removed"),
        },
    ),
    # Known only by its tone in the other house.
    Case(
        "between_buildings",
        "CY4",
        """
property: property=BHS, name=a boathouse (invented)
buildings: building=BOAT
buildings: building=HUT
floors: floor=B0, building=BOAT
floors: floor=H0, building=HUT
rooms: room=DOCK, floor=B0, closet=yes
rooms: room=WINCH, floor=H0
outlets: outlet=HUT-1, room=WINCH
cables: cable=CY4, jacket=coax
ends: end=Y4, cable=CY4, room=DOCK, goes_to=HUT-1, grade=toned
""",
        {"the winch stands under the same roof": ("floor=H0, building=HUT", "floor=H0, building=BOAT")},
    ),
    # Still on paper, when another way costs nothing yet.
    Case(
        "between_buildings",
        "CY9",
        """
property: property=CHP, name=a chapel let to visitors (invented)
buildings: building=CHAPEL
buildings: building=LODGE
floors: floor=C0, building=CHAPEL
floors: floor=L0, building=LODGE
rooms: room=VESTRY, floor=C0, closet=yes
rooms: room=PARLOUR, floor=L0
cables: cable=CY9, jacket=cat6, state=planned
ends: end=Y9, cable=CY9, room=VESTRY
ends: end=Y9x, cable=CY9, room=PARLOUR
""",
        {"fibre is planned": ("cat6", "fibre")},
    ),
    # Sealed lead lasts three to five years; this one is from 2019.
    Case(
        "battery_old",
        "UPS",
        CHAPEL + "models: model=UPM, what=UPS, takes=plug\nunits: unit=UPS, model=UPM, battery_date=2019",
        {
            "changed last year": ("battery_date=2019", "battery_date=2025-04"),
            "the box is out of use": ("battery_date=2019", "battery_date=2019, state=out of use"),
        },
    ),
    # The boathouse freezes and the switch is made for a warm room.
    Case(
        "too_cold",
        "SWB",
        """
property: property=BHS, name=a boathouse (invented)
rooms: room=SLIP, winter_min_c=17 F
models: model=SWM, what=switch, low_c=0, high_c=45
units: unit=SWB, model=SWM, room=SLIP
""",
        {
            "made for frost": ("low_c=0", "low_c=-20"),
            "45 F is above freezing": ("17 F", "45 F"),
            "it was taken home": ("unit=SWB, ", "unit=SWB, state=removed, "),
        },
    ),
    # Nobody says how cold it gets, but a thermometer stood there in January.
    Case(
        "too_cold",
        "AP5",
        """
property: property=CHP, name=a chapel let to visitors (invented)
rooms: room=TOWER
models: model=APM, what=access point, low_c=0, high_c=40
units: unit=AP5, model=APM, room=TOWER
measurements: subject=room:TOWER, quantity=temperature, value=-7 C, at=2026-01-12
""",
        {"it was 4 C at the coldest": ("-7 C", "4 C")},
    ),
    # Under the slates in August.
    Case(
        "too_hot",
        "AP9",
        """
property: property=WEM, name=Weir Mill (invented)
rooms: room=ROOF, summer_max_c=51
models: model=APM, what=access point, low_c=0, high_c=40
units: unit=AP9, model=APM, room=ROOF
""",
        {"made for it": ("high_c=40", "high_c=60"), "36 C is within its range": ("summer_max_c=51", "summer_max_c=36")},
    ),
)
