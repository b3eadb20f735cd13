"""Draw the stand-in photographs of the invented inn with Pillow: plain shapes, and words that say they are drawn.

    .venv/bin/python tools/draw_photos.py

One carries a position near 0 N 0 E, in the sea, so that taking positions out has something to take. Same program, same
Pillow, same bytes.
"""

from __future__ import annotations

import dataclasses
import pathlib

from PIL import Image, ImageDraw, ImageFont
from PIL.Image import Exif

FOLDER = pathlib.Path(__file__).resolve().parents[1] / "src" / "pullstring" / "demo" / "three_lamps"
SIZE = (640, 420)
WORDS = "drawn stand-in, invented"
WALL, DARK, PALE, WARM = (226, 221, 209), (62, 66, 72), (250, 248, 242), (176, 120, 66)
GPS_TAGS = 0x8825
NEAR_NOTHING = {1: "N", 2: (0.0, 0.0, 36.0), 3: "E", 4: (0.0, 0.0, 36.0)}  # 0.01 degree north and east of 0, 0

Box = tuple[int, int, int, int]


@dataclasses.dataclass(frozen=True)
class Drawn:
    """One picture: where it goes, what it is called, boxes and lines in it, and whether it carries a position."""

    stage: str
    file: str
    title: str
    boxes: tuple[tuple[Box, str], ...]
    lines: tuple[Box, ...] = ()
    position: bool = False


PICTURES = (
    Drawn(
        "1_arrival",
        "closet_board.jpg",
        "closet M004, backboard",
        (((90, 70, 550, 330), "board"), ((120, 100, 330, 300), "block B1"), ((380, 240, 500, 320), "shelf")),
        tuple((130 + 12 * n, 300, 150 + 24 * n, 390) for n in range(12)),
    ),
    Drawn(
        "1_arrival",
        "hall_ceiling.jpg",
        "hall M003, ceiling",
        (((270, 60, 370, 110), "D05"), ((60, 200, 180, 390), "desk")),
    ),
    Drawn(
        "1_arrival",
        "mast_from_yard.jpg",
        "mast from the courtyard",
        (((140, 220, 520, 390), "inn"), ((300, 60, 350, 100), "D01")),
        ((325, 100, 325, 220),),
        position=True,
    ),
    Drawn(
        "1_arrival",
        "boxes_boot_store.jpg",
        "boot store M009, shelf 2",
        (((80, 200, 270, 330), "BX1 blue lid"), ((340, 200, 530, 330), "BX2 red lid")),
        ((40, 332, 600, 332),),
    ),
    Drawn(
        "2_walk",
        "plate_o11.jpg",
        "behind plate O11",
        (((220, 90, 420, 290), "O11"),),
        ((300, 290, 280, 400), (340, 290, 360, 400)),
    ),
    Drawn(
        "3_after_visit1",
        "shelf_after_visit1.jpg",
        "closet shelf after visit 1",
        (
            ((80, 120, 400, 170), "N01"),
            ((80, 200, 200, 250), "D02"),
            ((230, 200, 400, 250), "D03"),
            ((430, 220, 600, 250), "P1"),
        ),
        tuple((100 + 18 * n, 170, 90 + 20 * n, 390) for n in range(10)),
    ),
    Drawn(
        "3_after_visit1",
        "sitting_room.jpg",
        "owner's sitting room M109",
        (((60, 140, 260, 300), "sofa"), ((400, 120, 580, 240), "D16"), ((430, 290, 480, 340), "N08")),
    ),
    Drawn(
        "4_after_visit2",
        "rack.jpg",
        "rack RK1",
        tuple(
            ((200, 60 + 26 * n, 440, 82 + 26 * n), word)
            for n, word in enumerate(("N13", "cords", "N01", "N02", "D02", "", "", "strip", "", "", "N17", "N17"))
        ),
    ),
)


def draw(picture: Drawn) -> Image.Image:
    """The picture as an image."""
    image = Image.new("RGB", SIZE, WALL)
    pen = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=18)
    for x0, y0, x1, y1 in picture.lines:
        pen.line((x0, y0, x1, y1), fill=WARM, width=4)
    for box, word in picture.boxes:
        pen.rectangle(box, fill=PALE, outline=DARK, width=3)
        pen.text((box[0] + 6, box[1] + 2), word, fill=DARK, font=font)
    pen.text((16, 12), picture.title, fill=DARK, font=font)
    pen.text((16, SIZE[1] - 28), WORDS, fill=DARK, font=font)
    return image


def write(picture: Drawn, folder: pathlib.Path) -> pathlib.Path:
    """The picture as a JPEG in the folder of photographs of its stage."""
    path = folder / picture.stage / "photos" / picture.file
    path.parent.mkdir(parents=True, exist_ok=True)
    exif = Exif()
    exif[0x010E] = WORDS
    if picture.position:
        exif[GPS_TAGS] = NEAR_NOTHING
    draw(picture).save(path, "JPEG", quality=70, exif=exif)
    return path


def main() -> None:
    """Write all pictures."""
    for picture in PICTURES:
        path = write(picture, FOLDER)
        print(path.relative_to(FOLDER), path.stat().st_size)


if __name__ == "__main__":
    main()
