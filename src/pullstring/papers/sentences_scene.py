"""What is taken for granted when the plan is read for signal, and why a reading teaches nothing; behind the codes of `radio`."""

from __future__ import annotations

SCENE_TAKEN = {
    "antenna_assumed": "how the antenna of {0} spreads is taken from where it hangs",
    "floor_assumed": "no floor is recorded under {0}: taken as boards on joists",
    "floor_height_assumed": "nobody noted how high {0} lies: three metres a floor",
    "ground_assumed": "the ground under {0} lets nothing through",
    "height_assumed": "nobody noted how high {0} hangs: under the ceiling if it is made for there, else a metre up",
    "opening_kind_usual": "{0}: a leaf of wood or one pane of plain glass; coated glass loses far more",
    "opening_taken_open": "nobody noted what stands in {0}: taken as an open gap",
    "opening_taken_shut": "nobody noted how {0} usually stands: taken as shut",
    "place_in_room_assumed": "nobody noted where in its room {0} hangs: taken as the middle",
    "power_assumed": "nobody noted what {0} radiates: a common value with room for error",
    "roof_assumed": "the roof over {0} is not recorded: taken as tiles on boards",
    "router_without_radio": "nobody noted that {0} has a radio, and no reading heard it: left out",
    "slab_type_unknown": "nobody noted how {0} is built: taken as boards on joists",
    "wall_loss_assumed": "nobody noted what {0} loses: taken by how it is drawn",
    "wall_type_unknown": "nobody noted how {0} is built: taken as half way between a stud wall and brick",
    "walls_guessed": "no wall is drawn on {0}: guessed between and around the rooms, without doors",
}

READING_TEACHES_NOTHING = {
    "came_since": "an access point came or was moved since",
    "moved_since": "what was heard hangs elsewhere now",
    "no_place": "nobody knows where it was read",
    "no_such_sender": "no access point is called so",
    "not_sending": "what was heard sends no more",
    "stranger": "it was somebody else's access point",
    "too_strong": "it only says that the level was higher",
}
