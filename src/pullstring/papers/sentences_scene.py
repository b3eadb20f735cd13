"""What is taken for granted when the plan is read for signal, and why a reading teaches nothing; behind the codes of `radio`."""

from __future__ import annotations

SCENE_TAKEN = {
    "antenna_assumed": "nobody noted the antenna of {0}: taken by the place it hangs in",
    "floor_assumed": "no floor is recorded under {0}: taken as boards on joists",
    "floor_height_assumed": "nobody noted the height of {0}: three metres a floor",
    "ground_assumed": "the ground under {0} lets nothing through",
    "height_assumed": "nobody noted the mounting height of {0}: under the ceiling if made for there, else a metre up",
    "opening_kind_usual": "openings {0}: a leaf of wood or one pane of plain glass; coated glass loses far more",
    "opening_taken_open": "nobody noted a filling of {0}: taken as an open gap",
    "opening_taken_shut": "nobody noted the usual state of {0}: taken as shut",
    "place_in_room_assumed": "nobody noted a place in the room for {0}: taken as the middle",
    "power_assumed": "nobody noted the power of {0}: a common value with room for error",
    "roof_assumed": "no roof is recorded over {0}: taken as tiles on boards",
    "router_without_radio": "nobody noted a radio in {0}, and no reading names one: left out",
    "slab_type_unknown": "nobody noted the build of {0}: taken as boards on joists",
    "wall_loss_assumed": "nobody noted the loss of {0}: taken by how it is drawn",
    "wall_type_unknown": "nobody noted the build of {0}: taken as half way between a stud wall and brick",
    "walls_guessed": "no wall is drawn on {0}: guessed between and around the rooms, without doors",
}

READING_TEACHES_NOTHING = {
    "band_not_sent": "nobody is known to send in that band",
    "came_since": "an access point came or was moved since",
    "no_such_level": "no device shows such a level",
    "moved_since": "what was heard hangs elsewhere now",
    "no_place": "nobody knows where it was read",
    "no_such_sender": "no access point is called so",
    "not_sending": "what was heard sends no more",
    "stranger": "it was somebody else's access point",
    "too_strong": "it only says that the level was higher",
}
