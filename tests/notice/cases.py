"""For each problem a site in which it must be told, where, and a change after which a veteran would be silent.

`+` lines are added and `-` lines taken away for the near miss.
"""

from __future__ import annotations

HOUSE = """
rooms room=CL closet=yes floor=A0
rooms room=R1 floor=A0
rooms room=R2 floor=B0
buildings building=A
buildings building=B
floors floor=A0 building=A
floors floor=B0 building=B
blocks block=B1
"""

CASES: dict[str, tuple[str, str, str]] = {
    "mains_in_box": (
        "outlets outlet=O1 room=R1 shares_box_with_mains=yes",
        "outlet:O1",
        "-outlets outlet=O1 room=R1 shares_box_with_mains=yes\n+outlets outlet=O1 room=R1 shares_box_with_mains=no",
    ),
    "temporary_hazard": (
        "temporary_works temporary=X1 what='cord across the stair' hazard='trip at night' must_end=2026-03-01",
        "temporary:X1",
        "+temporary_works temporary=X1 ended=yes",
    ),
    "temporary_over": (
        "visits visit=V1 arrives=2026-02-01 leaves=2026-02-03\n"
        "temporary_works temporary=X1 what='loose ends coiled' hazard=none until_visit=V1",
        "temporary:X1",
        "-visits visit=V1 arrives=2026-02-01 leaves=2026-02-03\n+visits visit=V1 arrives=2026-05-01 leaves=2026-05-03",
    ),
    "wrong_power": (
        "models model=AP takes=802.3af what='access point'\nmodels model=INJ what=injector\n"
        "units unit=U1 model=AP\nunits unit=U2 model=INJ\n"
        "ports port=U2.out gives='24 V always-on' plugged=port:U1.1",
        "port:U2.out",
        "-ports port=U2.out gives='24 V always-on' plugged=port:U1.1\n"
        "+ports port=U2.out gives=802.3af plugged=port:U1.1",
    ),
    "always_on_open": (
        "cables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1\n"
        "ends end=O1a cable=C1 room=R1 ends_at=O1\noutlets outlet=O1 room=R1\n"
        "units unit=U2\nports port=U2.1 gives='24 V always-on'",
        "port:U2.1",
        "+jacks jack=O1.1 connector=blank",
    ),
    "suspect_board": (
        "hazards hazard=H1 style=asbestos where=room:R1 sample='not taken'\n"
        "tasks task=T1 what='drill for the new run' nature=noise rooms=R1",
        "hazard:H1",
        "+hazards hazard=H1 sample=clear sampled=2026-03-01",
    ),
    "silent_as_idle": (
        "cables cable=C1 pairs=2\nends end=E1 cable=C1 room=CL carries=use:idle\n"
        "measurements subject=end:E1 quantity='volts DC' value=none",
        "end:E1",
        "+measurements subject=end:E1 quantity='volts AC' value=none",
    ),
    "bond_bad": (
        "bonds bond=G1 condition=loose",
        "bond:G1",
        "-bonds bond=G1 condition=loose\n+bonds bond=G1 condition=good",
    ),
    "feed_unlabelled": (
        "cables cable=C1\nends end=E1 cable=C1 room=CL\n"
        "incoming_lines incoming_line=L1 medium=radio cable=C1 label=none",
        "end:E1",
        "+ends end=E1 label='incoming line'",
    ),
    "loop": (
        # IEEE 802.1D: a bridge sends on every port what it hears on another, so two cords between two of them never rest
        "models model=SW what=switch passes='when powered'\nunits unit=U1 model=SW\nunits unit=U2 model=SW\n"
        "ports port=U1.1 plugged=port:U2.1\nports port=U1.2 plugged=port:U2.2",
        "unit:U1 and unit:U2",
        "-ports port=U1.2 plugged=port:U2.2\n+ports port=U1.2",
    ),
    "switched_path": (
        "circuits circuit=F1 breaker=on\nswitches switch=S1 fed_by=circuit:F1 usual=on\n"
        "sockets socket=K1 fed_by=switch:S1\nmodels model=RT takes=plug what=router\n"
        "units unit=U1 model=RT fed_by=socket:K1\n"
        "services service=NET arrives_at=unit:U1 needs=data source=feed from=unit:U1 keep=yes",
        "switch:S1",
        "-sockets socket=K1 fed_by=switch:S1\n+sockets socket=K1 fed_by=circuit:F1",
    ),
    "kept_unplaced": (
        "services service=ALARM keep=yes",
        "service:ALARM",
        "+cables cable=C1\n+ends end=E1 cable=C1 room=CL carries=service:ALARM",
    ),
    "service_on_dead": (
        "cables cable=C1 state='out of use'\nends end=E1 cable=C1 room=CL\nservices service=ALARM keep=yes carried_on=end:E1",
        "cable:C1",
        "-cables cable=C1 state='out of use'\n+cables cable=C1",
    ),
    "live_unknown": (
        "cables cable=C1\nends end=E1 cable=C1 room=CL\nmeasurements subject=end:E1 quantity='volts DC' value='48 V'",
        "end:E1",
        "+units unit=T1\n+services service=TEL carried_on=end:E1 arrives_at=unit:T1",
    ),
    "work_on_protected": (
        "companies company=ALM\ncables cable=C1\nends end=E1 cable=C1 room=CL\n"
        "services service=FIRE protected_by=ALM carried_on=end:E1\ntasks task=T1 what='move to the rack' on=end:E1",
        "end:E1",
        "+companies company=ALM asked=yes",
    ),
    "company_shut": (
        "companies company=LFT hours='Mo-Fr 8-17'\nservices service=LIFT protected_by=LFT\n"
        "visits visit=V1 arrives=2026-04-04 leaves=2026-04-05",
        "company:LFT",
        # a Saturday and Sunday; with the Monday there is time
        "-visits visit=V1 arrives=2026-04-04 leaves=2026-04-05\n+visits visit=V1 arrives=2026-04-04 leaves=2026-04-06",
    ),
    "surge_only": (
        "models model=UP what=UPS\nmodels model=RT what=router takes=plug\nunits unit=U9 model=UP\n"
        "ports port=U9.left gives=mains\nports port=U9.right gives='battery mains'\n"
        "units unit=U1 model=RT fed_by=port:U9.left",
        "unit:U1",
        "-units unit=U1 model=RT fed_by=port:U9.left\n+units unit=U1 model=RT fed_by=port:U9.right",
    ),
    "mode_for_gone": (
        "units unit=U2\nunits unit=U1 state=removed\nports port=U2.1 gives='24 V always-on' for_unit=U1",
        "port:U2.1",
        "-units unit=U1 state=removed\n+units unit=U1",
    ),
    "mode_not_saved": (
        "units unit=U2\nports port=U2.1 gives=802.3af mode_saved=no",
        "port:U2.1",
        "+ports port=U2.1 mode_saved=yes",
    ),
    "address_clash": (
        "units unit=U1 address=10.9.0.1\nunits unit=U2 address=10.9.0.1",
        "unit:U1 and unit:U2",
        "+units unit=U2 state=removed",
    ),
    "two_servers": (
        "units unit=U1 gives_addresses=yes\nunits unit=U2 gives_addresses=yes",
        "unit:U1 and unit:U2",
        "+units unit=U2 gives_addresses=no",
    ),
    "default_clash": (
        "models model=AP default_address=10.9.0.1\nunits unit=U2 model=AP\nnetworks network=N1 gateway=10.9.0.1",
        "unit:U2",
        "-networks network=N1 gateway=10.9.0.1\n+networks network=N1 gateway=10.9.0.2",
    ),
    "fixed_in_range": (
        "units unit=U1 address=10.9.0.150\nnetworks network=N1 gives_from=10.9.0.100 gives_to=10.9.0.199",
        "unit:U1",
        "-units unit=U1 address=10.9.0.150\n+units unit=U1 address=10.9.0.200",
    ),
    "between_buildings": (
        "cables cable=C1 jacket='drop wire'\nends end=E1 cable=C1 room=CL\nends end=X1 cable=C1 room=R2",
        "cable:C1",
        "-cables cable=C1 jacket='drop wire'\n+cables cable=C1 jacket=fibre",
    ),
    "battery_old": (
        "models model=UP what=UPS\nunits unit=U1 model=UP battery_date=2019",
        "unit:U1",
        "-units unit=U1 model=UP battery_date=2019\n+units unit=U1 model=UP battery_date=2024",
    ),
    "too_cold": (
        "models model=AP low_c=0\nrooms room=R3 winter_min_c=-4\nunits unit=U1 model=AP room=R3",
        "unit:U1",
        "-models model=AP low_c=0\n+models model=AP low_c=-4",
    ),
    "too_hot": (
        "models model=AP high_c=40\nrooms room=R3 summer_max_c=55\nunits unit=U1 model=AP room=R3",
        "unit:U1",
        "-models model=AP high_c=40\n+models model=AP high_c=55",
    ),
    "contradicted": (
        "outlets outlet=O1\nclaims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned\nends end=E1\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O1 holds=no grade=toned",
        "end:E1",
        "-claims subject=end:E1 relation=goes_to object=outlet:O1 holds=no grade=toned\n"
        "+claims subject=end:E1 relation=goes_to object=outlet:O1 holds=no grade=told",
    ),
    "crowded": (
        "units unit=U1\nends end=E1 plugged=port:U1.1\nends end=E2 plugged=port:U1.1",
        "port:U1.1",
        "-ends end=E2 plugged=port:U1.1\n+ends end=E2 plugged=port:U1.2",
    ),
    "tags_exchanged": (
        "outlets outlet=O1\noutlets outlet=O2\nends end=E1 room=CL\nends end=E2 room=CL\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned at=2025-01-01\n"
        "claims subject=end:E2 relation=goes_to object=outlet:O2 grade=toned at=2025-01-01\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O2 grade=toned at=2026-03-01\n"
        "claims subject=end:E2 relation=goes_to object=outlet:O1 grade=toned at=2026-03-01",
        "end:E1 and end:E2",
        # the later round heard E1 at both, as on one chain, but E2 where it was
        "-claims subject=end:E2 relation=goes_to object=outlet:O1 grade=toned at=2026-03-01",
    ),
    "power_through_joint": (
        "cables cable=C1 pairs=4\ncables cable=C2 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1\n"
        "ends end=J1a cable=C1 room=R1\nends end=J1b cable=C2 room=R1\njoints joint=J1 style=splice ends='end:J1a end:J1b'\n"
        "units unit=U2\nports port=U2.1 gives=802.3af",
        "port:U2.1",
        "-joints joint=J1 style=splice ends='end:J1a end:J1b'",
    ),
    "damaged_pairs": (
        "cables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL\n"
        "measurements subject=end:E1 quantity='wire map' value='whole; touch 5+7'",
        "cable:C1",
        "-measurements subject=end:E1 quantity='wire map' value='whole; touch 5+7'\n"
        "+measurements subject=end:E1 quantity='wire map' value=whole",
    ),
    "quad_data": (
        "cables cable=C1 jacket=quad pairs=2\nends end=E1 cable=C1 room=CL plugged=port:U2.1\n"
        "models model=SW what=switch\nunits unit=U2 model=SW",
        "cable:C1",
        # the same quad in the telephone panel
        "-models model=SW what=switch\n+models model=SW what=telephone",
    ),
    "bridged": (
        "cables cable=C1\ncables cable=C2\nends end=E1 cable=C1 room=CL ends_at=row:B1.10\n"
        "ends end=E2 cable=C2 room=CL ends_at=row:B1.11\nrows row=B1.10 clip_to=row:B1.11",
        "cable:C1 and cable:C2",
        "+acts act=part subject=row:B1.10 object=row:B1.11 at=2026-03-30",
    ),
    "shared_row": (
        "cables cable=C1\ncables cable=C2\nends end=E1 cable=C1 room=CL ends_at=row:B1.5\n"
        "ends end=E2 cable=C2 room=CL ends_at=row:B1.5",
        "row:B1.5",
        "-ends end=E2 cable=C2 room=CL ends_at=row:B1.5\n+ends end=E2 cable=C2 room=CL ends_at=row:B1.50",
    ),
    "ring": (
        "cables cable=C1 pairs=2\nends end=E1 cable=C1 room=CL\nends end=E2 cable=C1 room=CL",
        "end:E1 and end:E2",
        "-ends end=E2 cable=C1 room=CL\n+ends end=E2 cable=C1 room=R1",
    ),
    "chain": (
        "outlets outlet=O1\noutlets outlet=O2\ncables cable=C1\nends end=E1 cable=C1 room=CL\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O2 grade=toned",
        "end:E1",
        # the second was an old label, and a tone has shown that it is not so
        "-claims subject=end:E1 relation=goes_to object=outlet:O2 grade=toned\n"
        "+claims subject=end:E1 relation=goes_to object=outlet:O2 grade=told\n"
        "+claims subject=end:E1 relation=goes_to object=outlet:O2 holds=no grade=toned",
    ),
    "hidden_joint": (
        "cables cable=C1 jacket=cat5 pairs=4\nends end=E1 cable=C1 room=CL\n"
        "ends end=X1 cable=C1 room=R1 jacket=quad pairs=2",
        "end:E1 and end:X1",
        "-ends end=X1 cable=C1 room=R1 jacket=quad pairs=2\n+ends end=X1 cable=C1 room=R1 jacket=cat5 pairs=4",
    ),
    "splice_pairs": (
        "ends end=J1a cable=C1\nends end=J1b cable=C2\ncables cable=C1 pairs=4\ncables cable=C2 pairs=4\n"
        "joints joint=J1 style=splice ends='end:J1a end:J1b' pairs='1>2 2>1'",
        "joint:J1",
        "-joints joint=J1 style=splice ends='end:J1a end:J1b' pairs='1>2 2>1'\n"
        "+joints joint=J1 style=splice ends='end:J1a end:J1b' pairs='1>1 2>2'",
    ),
    "long_loop": (
        # 60 m of 24 AWG pair is 10.1 ohm at 20 C; 12.5 is far over, 11.0 is warm copper
        "cables cable=C1 jacket=cat5e pairs=4 gauge_awg=24 length_m=60\nends end=E1 cable=C1 room=CL\n"
        "measurements subject=end:E1 quantity='loop resistance' value='14 ohm'",
        "end:E1",
        "-measurements subject=end:E1 quantity='loop resistance' value='14 ohm'\n"
        "+measurements subject=end:E1 quantity='loop resistance' value='10.6 ohm'",
    ),
    "mixed_schemes": (
        "cables cable=C1\nends end=E1 cable=C1 scheme=T568A\nends end=X1 cable=C1 scheme=T568B",
        "cable:C1",
        "-ends end=X1 cable=C1 scheme=T568B\n+ends end=X1 cable=C1 scheme=T568A",
    ),
    "too_few_jacks": (
        "outlets outlet=O1 room=R1 positions=1\nneeds need=N1 room=R1 ports=1\nneeds need=N2 room=R1 ports=1",
        "outlet:O1",
        "-outlets outlet=O1 room=R1 positions=1\n+outlets outlet=O1 room=R1 positions=2",
    ),
    "dead_on_wrong_port": (
        "models model=AP takes='24 V always-on'\nunits unit=U2\nports port=U2.1 gives=802.3af\n"
        "units unit=U1 model=AP health='called dead' tried_on=U2.1",
        "unit:U1",
        "-ports port=U2.1 gives=802.3af\n+ports port=U2.1 gives='24 V always-on'",
    ),
    "login_locked": ("units unit=U1 login=locked", "unit:U1", "+units unit=U1 login=usable"),
    "adapter_filtered": (
        "models model=PL what=adapter takes=plug\nsockets socket=K1 filtered=yes\nunits unit=U1 model=PL fed_by=socket:K1",
        "unit:U1",
        "-sockets socket=K1 filtered=yes\n+sockets socket=K1 filtered=no",
    ),
    "split_unseen": (
        "outlets outlet=O1\ncables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1 goes_to=O1 grade='pinned out'\n"
        "models model=SW what=switch\nunits unit=U2 model=SW",
        "end:E1",
        "+measurements subject=end:E1 quantity='ran at' value='1 Gb/s'",
    ),
    "plate_blocked": (
        "outlets outlet=O1 blocked_by='a wardrobe'",
        "outlet:O1",
        "-outlets outlet=O1 blocked_by='a wardrobe'\n+outlets outlet=O1 blocked_by=none",
    ),
    "abandoned": (
        "cables cable=C1 state='out of use'\nends end=E1 cable=C1 room=CL",
        "cable:C1",
        "+cables cable=C1 reserved=yes",
    ),
    "stale": (
        "outlets outlet=O1\nends end=E1\nclaims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned at=2016-01-01",
        "end:E1",
        "-claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned at=2016-01-01\n"
        "+claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned at=2024-01-01",
    ),
    "look_alike": ("ends end=EO1\nends end=E01", "end:EO1", "-ends end=EO1\n+ends end=F01"),
}
"""By code: the lines that call for it, where it is told, and what changes for the near miss."""

MORE: list[tuple[str, str, str, str]] = [
    (
        "hidden_joint",
        "pathways pathway=PW rooms=R1 sheaths_in=7 sheaths_out=6",
        "pathway:PW",
        "+joints joint=J1 style=splice room=R1",
    ),
    (
        "hidden_joint",
        "pathways pathway=PW rooms=R1 sheaths_in=7 sheaths_out=6",
        "pathway:PW",
        "-pathways pathway=PW rooms=R1 sheaths_in=7 sheaths_out=6\n+pathways pathway=PW rooms=R1 sheaths_in=7",
    ),
    (
        # a toned end: four pairs in the closet, two behind the only plate it reaches
        "hidden_joint",
        "outlets outlet=O1 room=R1\ncables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL\nends end=X1 room=R1 pairs=2 ends_at=O1\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned",
        "end:E1 and end:X1",
        "-claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned\n"
        "+claims subject=end:E1 relation=goes_to object=outlet:O1 grade=told",
    ),
    (
        "splice_pairs",
        "ends end=J1a cable=C1\nends end=J1b cable=C2\ncables cable=C1 pairs=4\ncables cable=C2 pairs=2\n"
        "joints joint=J1 style=splice ends='end:J1a end:J1b'",
        "joint:J1",
        "-joints joint=J1 style=splice ends='end:J1a end:J1b'\n"
        "+joints joint=J1 style=splice ends='end:J1a end:J1b' pairs='1>1 2>2'",
    ),
    (
        "chain",
        "outlets outlet=O1 room=R1 sheaths=2 positions=1\ncables cable=C1\n"
        "ends end=E1 cable=C1 room=CL\nends end=X1 cable=C1 room=R1 ends_at=O1\n"
        "claims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned",
        "end:E1",
        "-outlets outlet=O1 room=R1 sheaths=2 positions=1\n+outlets outlet=O1 room=R1 sheaths=2 positions=2",
    ),
    (
        "chain",
        "outlets outlet=O1 room=R1\ncables cable=C1\ncables cable=C2\n"
        "ends end=E1 cable=C1 room=CL\nends end=X1 cable=C1 room=R1 ends_at=O1\n"
        "ends end=X2 cable=C2 room=R1 ends_at=O1\nclaims subject=end:E1 relation=goes_to object=outlet:O1 grade=toned",
        "end:E1",
        "-ends end=X2 cable=C2 room=R1 ends_at=O1",
    ),
    (
        "always_on_open",
        "cables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1 goes_to=O1\noutlets outlet=O1 room=R1\n"
        "units unit=U2\nports port=U2.1 gives='24 V always-on'",
        "port:U2.1",
        "+outlets outlet=O1 reachable=no",
    ),
    (
        "always_on_open",
        "cables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1\n"
        "units unit=U2\nports port=U2.1 gives='24 V always-on'",
        "port:U2.1",
        "+ports port=U2.1 gives=nothing",
    ),
    (
        # two outlets on one always-on chain: the unit sits on one, the other is open
        "always_on_open",
        "models model=AP takes='24 V always-on'\nunits unit=U1 model=AP\noutlets outlet=O1\noutlets outlet=O2\n"
        "cables cable=C1 pairs=4\ncables cable=C2 pairs=4\nends end=E1 cable=C1 room=CL plugged=port:U2.1 goes_to=O1\n"
        "ends end=X1 cable=C1 ends_at=O1\nends end=Y1 cable=C2 ends_at=O1\nends end=Y2 cable=C2 ends_at=O2\n"
        "ports port=U1.1 plugged=outlet:O1\nunits unit=U2\nports port=U2.1 gives='24 V always-on'",
        "port:U2.1",
        "+jacks jack=O2.1 connector=blank",
    ),
    (
        "mode_for_gone",
        "models model=AP takes=802.3af\nunits unit=U1 model=AP\nunits unit=U3 model=AP\nunits unit=U2\n"
        "ports port=U2.1 gives=802.3af for_unit=U1\nports port=U3.1 plugged=port:U2.1",
        "port:U2.1",
        "-ports port=U3.1 plugged=port:U2.1\n+ports port=U1.1 plugged=port:U2.1",
    ),
    (
        "fixed_in_range",
        "units unit=U1 address=10.9.0.100\nnetworks network=N1 gives_from=10.9.0.100 gives_to=10.9.0.199",
        "unit:U1",
        "-networks network=N1 gives_from=10.9.0.100 gives_to=10.9.0.199\n+networks network=N1 gives_from=10.9.0.100",
    ),
    (
        "default_clash",
        "models model=AP default_address=10.9.0.20\nunits unit=U2 model=AP\nunits unit=U3 address=10.9.0.20",
        "unit:U2",
        "-models model=AP default_address=10.9.0.20\n+models model=AP default_address=none",
    ),
    (
        "two_servers",
        # one of them is only planned: it will be one too many
        "units unit=U1 gives_addresses=yes\nunits unit=U2 gives_addresses=yes state=planned",
        "unit:U1 and unit:U2",
        "-units unit=U2 gives_addresses=yes state=planned\n+units unit=U2 gives_addresses=yes state=removed",
    ),
    (
        "address_clash",
        "positions position=P1 address=10.9.0.1\nunits unit=U1 address=10.9.0.1\nunits unit=U2 position=P1",
        "unit:U1 and unit:U2",
        "-positions position=P1 address=10.9.0.1\n+positions position=P1 address=10.9.0.2",
    ),
    (
        "too_cold",
        "models model=AP low_c=0\nrooms room=R3 winter_min_c=-4\npositions position=P1 room=R3\n"
        "units unit=U1 model=AP position=P1 state=planned",
        "unit:U1",
        "+units unit=U1 state=removed",
    ),
    (
        "feed_unlabelled",
        "cables cable=C1\nends end=E1 cable=C1 room=CL plugged=port:U1.in\nunits unit=U1\n"
        "services service=NET source=feed from=unit:U1 arrives_at=unit:U1",
        "end:E1",
        "-services service=NET source=feed from=unit:U1 arrives_at=unit:U1\n"
        "+services service=NET source=own from=unit:U1 arrives_at=unit:U1",
    ),
    (
        "silent_as_idle",
        "cables cable=C1 pairs=2\nends end=E1 cable=C1 room=CL\ntasks task=T1 what='remove the old cable' on=cable:C1",
        "cable:C1",
        "-tasks task=T1 what='remove the old cable' on=cable:C1\n+tasks task=T1 what='look at the old cable' on=cable:C1",
    ),
    (
        "silent_as_idle",
        "cables cable=C1 pairs=2\npairs pair=C1.2 carries=use:idle\nmeasurements subject=pair:C1.1 quantity='volts DC' value=none\n"
        "measurements subject=pair:C1.1 quantity='volts AC' value=none\n"
        "measurements subject=pair:C1.2 quantity='volts DC' value=none",
        "pair:C1.2",
        "+measurements subject=pair:C1.2 quantity='volts AC' value=none",
    ),
    (
        # one pair of the cable is a known line, the other has volts that nobody knows of
        "live_unknown",
        "cables cable=C1 pairs=2\nunits unit=T1\nservices service=TEL carried_on=pair:C1.1 arrives_at=unit:T1\n"
        "measurements subject=pair:C1.1 quantity='volts DC' value='49 V'\n"
        "measurements subject=pair:C1.2 quantity='volts DC' value='-48 V'",
        "pair:C1.2",
        "-measurements subject=pair:C1.2 quantity='volts DC' value='-48 V'\n"
        "+measurements subject=pair:C1.2 quantity='volts DC' value='-0.2 V'",
    ),
    (
        "between_buildings",
        "cables cable=C1 jacket='gel 6-pair'\nends end=E1 cable=C1 room=CL goes_to=O1\noutlets outlet=O1 room=R2",
        "cable:C1",
        "-outlets outlet=O1 room=R2\n+outlets outlet=O1 room=R1",
    ),
    (
        "temporary_over",
        "temporary_works temporary=X1 what='cord on the shelf' must_end=2026-03-31",
        "temporary:X1",
        "-temporary_works temporary=X1 what='cord on the shelf' must_end=2026-03-31\n"
        "+temporary_works temporary=X1 what='cord on the shelf' must_end=2026-04-01",
    ),
    (
        "plate_blocked",
        "outlets outlet=O1 condition='painted over'",
        "outlet:O1",
        "-outlets outlet=O1 condition='painted over'\n+outlets outlet=O1 condition=good",
    ),
    (
        "abandoned",
        "outlets outlet=O1\ncables cable=C1 state='out of use'\n"
        "ends end=E1 cable=C1 room=CL\nends end=X1 cable=C1 room=R1 ends_at=O1",
        "cable:C1",
        # ended on a connector at both ends it is not abandoned by the text of the code
        "+units unit=U1\n+ends end=E1 plugged=port:U1.1",
    ),
    (
        "mixed_schemes",
        "outlets outlet=O1\njacks jack=O1.1 scheme=T568A\n"
        "cables cable=C1\nends end=E1 cable=C1 scheme=T568B\nends end=X1 cable=C1 ends_at=O1",
        "cable:C1",
        "-jacks jack=O1.1 scheme=T568A\n+jacks jack=O1.1 scheme=T568B",
    ),
    (
        "battery_old",
        "models model=UP what=UPS\nunits unit=U1 model=UP battery_date=2022-03-01",
        "unit:U1",
        "-units unit=U1 model=UP battery_date=2022-03-01\n+units unit=U1 model=UP battery_date=2022-04-20",
    ),
]
"""Other ways in which the same things are recorded: code, lines, where it is told, change for the near miss."""
