"""Make the faces that pages fetch (WOFF2) from the packaged ones: the same letters without hints.

Needs fonttools and brotli, which nothing else here needs: `pip install fonttools brotli` in an environment of its own.
"""

import pathlib

from fontTools import subset

FONTS = pathlib.Path(__file__).resolve().parent.parent / "src" / "pullstring" / "papers" / "fonts"
FACES = ("B612-Regular", "B612-Bold", "B612Mono-Regular")
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x2010, 0x2040), 0x20AC, 0x2126, 0x3A9, 0x3BC, 0x2122]
LETTERS += [*range(0x2190, 0x2200), 0x2212, 0x2248, 0x2260, 0x2264, 0x2265, 0x221E, 0x25A1, 0x25CB, 0x25CF]


def main() -> None:
    for face in FACES:
        options = subset.Options(flavor="woff2", hinting=False, desubroutinize=True, layout_features=["kern"])
        font = subset.load_font(str(FONTS / f"{face}.otf"), options)
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=LETTERS)
        cutter.subset(font)
        subset.save_font(font, str(FONTS / f"{face}.woff2"), options)


if __name__ == "__main__":
    main()
