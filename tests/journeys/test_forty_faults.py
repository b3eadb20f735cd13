"""Forty faults planted in one folder: every one told in one run, at its place, and not one entry written."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from tests.journeys.sites import ASKED, HAND

HOUSE = {
    "property.csv": "property,name\nWM,Weir Mill\n",
    "buildings.csv": "building,name,angle_deg,heated\nA,Mill,north,yes\nB,Loft,0,perhaps\n",
    "floors.csv": "floor,building,level,z_m\nA0,A,0,0\nA1,A,one,3.2\nB0,BB,0,0\n",
    "rooms.csv": "room,floor,outline,winter_min_c\nR1,A0,0 0; 4 5,-5\nR2,A0,0 0,12\nR3,A9,0 0; 2 2,cold\nR4,A0,,-400\n",
    "walls.csv": "wall,floors,line,thickness_m\nW1,A0,0 0; 4 0,-0.3\nW2,A0,,0.2\n",
    "outlets.csv": "outlet,room,positions,shares_box_with_mains,colour\nO1,R1,two,no,white\nO2,R8,1,maybe,\n,R1,1,no,\n",
    "blocks.csv": "block,rows,style\nB1,0,panel\nB2,10,crone\n",
    "cables.csv": "cable,jacket,pairs,length_m,gauge_awg\nC1,cat7e,4,20,24\nC2,cat5,4000,20,24\nC3,cat5,4,20 kg,24\n"
    "C4,cat5,4,-3,24\nC5,cat5,4,< 20,24\nC:6,cat5,4,3,24\nC7,cat5,4,20,95\n",
    "ends.csv": "end,cable,room,ends_at,carries\nE1,C1,R1,B1.1,idle\nE2,C99,R1,B1.2,idle\nE3,C2,R1,port:X1.2,\n"
    "E4,C2,R1,B1.4,service:NONE\n",
    "units.csv": "unit,room,login,password,battery_date\nU1,R1,open,,\nU2,R1,usable,swordfish,\nU3,R1,usable,,2019-13-01\n",
    "prices.csv": "price,amount\nP1,about 20\nP2,12.345\n",
    "photos.csv": "photo,privacy\nF1,secret\n",
    "claims.csv": "subject,relation,object\nend:E1,goes to,outlet:O1\nE1,goes_to,outlet:O1\nend:E1,goes_to,outlet:O77\n",
    "measurements.csv": "subject,quantity,value\nend:E1,volts DC,48 ohm\nend:E1,wire map,broken\nend:E1,tone,loud\n"
    "end:E1,capacitance,-3 nF\n",
    "acts.csv": "act,subject,object\nchop,cable:C1,\nplug in,cable:C1,port:U1.1\nplug in,end:E1,\n",
    "rums.csv": "room\nR9\n",
}
FAULTS = [
    ("buildings.csv row 2, column angle_deg", "is no number"),
    ("buildings.csv row 3, column heated", "is not one of"),
    ("floors.csv row 3, column level", "no whole number"),
    ("floors.csv row 4, column building", "there is no building 'BB'"),
    ("rooms.csv row 3, column outline", "corners"),
    ("rooms.csv row 4, column floor", "there is no floor 'A9'"),
    ("rooms.csv row 4, column winter_min_c", "is no number"),
    ("walls.csv row 2, column thickness_m", "0 or more"),
    ("walls.csv row 3, column line", "blank"),
    ("outlets.csv row 1, column colour", "not known"),
    ("outlets.csv row 2, column positions", "no whole number"),
    ("outlets.csv row 3, column room", "there is no room 'R8'"),
    ("outlets.csv row 3, column shares_box_with_mains", "is not one of"),
    ("outlets.csv row 4, column outlet", "blank"),
    ("blocks.csv row 2, column rows", "from 1 to 10000"),
    ("blocks.csv row 3, column style", "is not one of"),
    ("cables.csv row 2, column jacket", "did you mean cat"),
    ("cables.csv row 3, column pairs", "from 0 to 3600"),
    ("cables.csv row 4, column length_m", "no unit of length"),
    ("cables.csv row 5, column length_m", "0 or more"),
    ("cables.csv row 6, column length_m", "sign of comparison"),
    ("cables.csv row 7, column cable", "is no tag"),
    ("cables.csv row 8, column gauge_awg", "from 0 to 40"),
    ("ends.csv row 3, column cable", "there is no cable 'C99'"),
    ("ends.csv row 4, column ends_at", "there is no port 'X1.2'"),
    ("ends.csv row 5, column carries", "there is no service 'NONE'"),
    ("units.csv row 2, column login", "is not one of"),
    ("units.csv row 3, column password", "never stands here in plain"),
    ("units.csv row 4, column battery_date", "no day of the calendar"),
    ("prices.csv row 2, column amount", "is no amount"),
    ("prices.csv row 3, column amount", "is no amount"),
    ("photos.csv row 2, column privacy", "is not one of"),
    ("claims.csv row 2, column relation", "did you mean goes_to?"),
    ("claims.csv row 3, column subject", "names no kind"),
    ("claims.csv row 4, column object", "there is no outlet 'O77'"),
    ("measurements.csv row 2", "no unit of voltage"),
    ("measurements.csv row 3", "is no wire map"),
    ("measurements.csv row 4", "is no tone"),
    ("measurements.csv row 5", "below nothing"),
    ("acts.csv row 2, column act", "is not one of"),
    ("acts.csv row 3", "not to a cable"),
    ("acts.csv row 4", "needs an object"),
    ("rums.csv", "there is no table 'rums'; did you mean rooms?"),
]
"""Where each is and a piece of the sentence that tells what would be right; written before the program was asked."""


def test_forty_faults__all_told_in_one_run_and_nothing_entered(tmp_path: Path) -> None:
    tables = tmp_path / "tables"
    tables.mkdir()
    for name, text in HOUSE.items():
        (tables / name).write_text(text, encoding="utf-8")
    path = tmp_path / "mill.site"
    api.new(path, ASKED, code="WM", name="", **HAND)
    before = path.read_bytes()
    with pytest.raises(api.BadRequest) as refused:
        api.import_(path, ASKED, folder=tables, **HAND)
    told = list(refused.value.faults)
    missed = [f for f in FAULTS if not any(t.startswith(f[0] + ":") and f[1] in t for t in told)]
    assert missed == [], "\n".join(told)
    extra = [t for t in told if not any(t.startswith(where + ":") and words in t for where, words in FAULTS)]
    assert [t for t in extra if "R4" not in t and "-400" not in t] == [], "told what was not planted"
    assert len(FAULTS) >= 40
    assert path.read_bytes() == before
