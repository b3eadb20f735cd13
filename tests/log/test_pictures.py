"""Photographs without their words: the same picture, and no byte of what was written into it."""

import io
import struct
import zlib

import pytest
from PIL import Image, ImageCms, ImageDraw
from PIL.PngImagePlugin import PngInfo

from pullstring.log.pictures import NotClean, without_words

pytestmark = pytest.mark.filterwarnings("ignore:Image appears to be a malformed MPO")
WORDS = (b"Snarkford", b"Boojum-Maker", b"Jabberwock note", b"GPSLatitude", b"pdf-secret", b"Bandersnatch")
GPS = 34853  # Exif 2.3, table 4: the tag that points to the position
# 57 deg 7 min 7.77 s north: numerator and denominator of the seconds as they stand in the file
SECONDS = struct.pack(">II", 777, 100), struct.pack("<II", 777, 100)
XMP = b"<x:xmpmeta><exif:GPSLatitude>57,7.1295N</exif:GPSLatitude>Snarkford</x:xmpmeta>"


def drawn(mode="RGB"):
    """An invented plate with two jacks: corners of four colours, so that a turn shows."""
    picture = Image.new(mode, (48, 32), (200, 30, 30) if mode == "RGB" else (200, 30, 30, 128))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 0, 15, 15), fill=(20, 180, 40))
    draw.rectangle((32, 16, 47, 31), fill=(20, 40, 190))
    return picture


def tags(way_up=1):
    exif = Image.Exif()
    exif[274] = way_up
    exif[271] = "Boojum-Maker"
    exif[270] = "Snarkford"
    exif.get_ifd(0x8769)[37500] = b"Jabberwock note"  # maker's note
    exif.get_ifd(GPS).update({1: "N", 2: (57.0, 7.0, 7.77), 3: "W", 4: (3.0, 2.0, 7.77)})
    return exif


def small_copy():
    out = io.BytesIO()
    drawn().resize((12, 8)).save(out, "JPEG", comment=b"Bandersnatch")
    return out.getvalue()


def profile():
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def jpeg(way_up=1, **more):
    out = io.BytesIO()
    drawn().save(
        out, "JPEG", exif=tags(way_up), xmp=XMP, comment=b"Snarkford", icc_profile=profile(), quality=90, **more
    )
    data = out.getvalue()
    jfxx = b"JFXX\0\x10" + small_copy()
    mpf = b"MPF\0Snarkford"
    extra = b"".join(  # beside the position: a second small copy, an index of more pictures, words of editors
        bytes((0xFF, mark)) + struct.pack(">H", len(text) + 2) + text
        for mark, text in ((0xE0, jfxx), (0xE2, mpf), (0xED, b"Photoshop 3.0\0Snarkford"), (0xE5, b"Snarkford"))
    )
    film = b"\0\0\0\x18ftypmp42Bandersnatch" + data  # a motion picture after the end
    return data[:2] + extra + data[2:] + film


def png(way_up=1):
    info = PngInfo()
    info.add_text("Comment", "Snarkford")
    info.add_text("Description", "Jabberwock note", zip=True)
    info.add_itxt("XML:com.adobe.xmp", XMP.decode())
    info.add(b"tIME", struct.pack(">HBBBBB", 2026, 3, 3, 10, 0, 0))
    out = io.BytesIO()
    drawn("RGBA").save(out, "PNG", pnginfo=info, exif=tags(way_up), icc_profile=profile())
    return out.getvalue() + b"Bandersnatch"


def webp(way_up=1, **more):
    out = io.BytesIO()
    drawn("RGBA").save(out, "WEBP", exif=tags(way_up), xmp=XMP, icc_profile=profile(), **more)
    return out.getvalue() + b"Bandersnatch"


FORMS = {
    "jpeg": jpeg(),
    "jpeg turned": jpeg(6),
    "jpeg progressive": jpeg(3, progressive=True),
    "jpeg with restarts": jpeg(1, restart_marker_rows=1),
    "png": png(),
    "png turned": png(8),
    "webp": webp(),
    "webp turned": webp(6),
    "webp lossless": webp(5, lossless=True),
}


def pixels(data):
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture.mode, picture.size, picture.tobytes()


@pytest.mark.parametrize("form", FORMS)
def test_inputs__really_hold_a_position(form):
    """What the other tests look for is there to begin with."""
    data = FORMS[form]
    assert any(seconds in data for seconds in SECONDS)
    assert b"Snarkford" in data
    assert dict(Image.open(io.BytesIO(data)).getexif().get_ifd(GPS))[1] == "N"


@pytest.mark.parametrize("form", FORMS)
def test_without_words__no_byte_of_position_maker_or_note(form):
    clean = without_words(FORMS[form]).data
    for words in (*WORDS, *SECONDS, b"xmp", b"JFXX", b"MPF", b"ICC", b"ftyp", b"tIME", b"Photoshop"):
        assert words not in clean
    assert GPS not in Image.open(io.BytesIO(clean)).getexif()


@pytest.mark.parametrize("form", FORMS)
def test_without_words__same_pixels_same_way_up(form):
    before, after = FORMS[form], without_words(FORMS[form])
    assert pixels(after.data) == pixels(before)
    opened = Image.open(io.BytesIO(after.data))
    assert Image.MIME[opened.format] == after.media_type
    assert opened.getexif().get(274, 1) == Image.open(io.BytesIO(before)).getexif().get(274, 1)
    assert set(opened.getexif()) <= {274}


@pytest.mark.parametrize("form", FORMS)
def test_without_words__twice_is_once(form):
    once = without_words(FORMS[form])
    assert without_words(once.data) == once


def test_without_words__small_copy_inside_jfif_goes():
    out = io.BytesIO()
    drawn().save(out, "JPEG")
    data, at = out.getvalue(), 6
    assert data[at:].startswith(b"JFIF\0")
    held = data[at : at + 12] + bytes((2, 1)) + b"Bander"  # 2 x 1 pixels of 3 bytes
    with_copy = data[: at - 2] + struct.pack(">H", len(held) + 2) + held + data[at + 14 :]
    assert b"Bander" not in without_words(with_copy).data
    assert pixels(without_words(with_copy).data) == pixels(data)


def test_without_words__cmyk_keeps_the_mark_that_tells_its_colours():
    out = io.BytesIO()
    drawn().convert("CMYK").save(out, "JPEG", exif=tags(), xmp=XMP)
    assert b"Adobe" in out.getvalue()
    clean = without_words(out.getvalue()).data
    assert pixels(clean) == pixels(out.getvalue())
    assert b"Snarkford" not in clean


def gif():
    out = io.BytesIO()
    drawn().save(out, "GIF", comment=b"Snarkford")
    return out.getvalue()


def moving():
    out = io.BytesIO()
    drawn().save(out, "WEBP", save_all=True, append_images=[drawn().rotate(90)], exif=tags())
    return out.getvalue()


def unknown_needed_chunk():
    data = png()
    chunk = struct.pack(">I", 4) + b"NEWX" + b"abcd" + struct.pack(">I", zlib.crc32(b"NEWXabcd"))
    return data[:33] + chunk + data[33:]


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (gif(), "unknown form"),
        (b"", "unknown form"),
        (b"%PDF-1.7 pdf-secret", "unknown form"),
        (b"\0\0\0\x18ftypheic", "unknown form"),
        (moving(), "moving"),
        (unknown_needed_chunk(), "unknown form"),
        (b"\xff\xd8\xff\xd9", "damaged"),
        (b"\xff\xd8\xff", "damaged"),
        (b"RIFF\x04\0\0\0WEBP", "damaged"),
        (png()[:33] + b"\0", "damaged"),
    ],
)
def test_not_clean__not_given_and_said_why(data, reason):
    with pytest.raises(NotClean, match=reason):
        without_words(data)


@pytest.mark.parametrize("form", ["jpeg", "jpeg progressive", "png", "webp"])
def test_cut_short__at_every_byte_never_a_traceback_never_a_word(form):
    data = FORMS[form]
    for end in range(len(data)):
        try:
            clean = without_words(data[:end])
        except NotClean:
            continue
        assert clean == without_words(data)


@pytest.mark.parametrize("form", [name for name in FORMS if name.startswith("webp")])
def test_webp__says_that_it_holds_what_it_holds(form):
    """RFC 9649, section 2.7: the flags of the first chunk tell which others follow."""
    data, held, at = without_words(FORMS[form]).data, {}, 12
    while at < len(data):
        size = struct.unpack("<I", data[at + 4 : at + 8])[0]
        held[data[at : at + 4]] = data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
    flags = held[b"VP8X"][0]
    said = {name for flag, name in ((0x20, b"ICCP"), (0x08, b"EXIF"), (0x04, b"XMP "), (0x02, b"ANIM")) if flags & flag}
    assert said == held.keys() - {b"VP8X", b"VP8 ", b"VP8L", b"ALPH"}
    assert bool(flags & 0x10) and struct.unpack("<I", data[4:8])[0] == len(data) - 8
