"""Position and all other words out of photographs, without touching what is seen: only parts known to be needed stay.

JPEG: ITU-T T.81, annex B, and T.871 (JFIF); PNG: W3C PNG, third edition, section 11; WebP: RFC 9649, section 2. What was
written into other parts (position, maker's notes, small copies of the picture, a film after the end) is left out, and so
is the colour profile, which can name its maker. The way up is kept as the one tag that says it: Exif 2.3, tag 274.
"""

from __future__ import annotations

import dataclasses
import struct
import zlib
from collections.abc import Iterator

_ORIENTATION, _SHORT = 274, 3
_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_NEEDED = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"cICP", b"sBIT", b"pHYs", b"bKGD")
)
_WEBP_NEEDED = frozenset((b"VP8 ", b"VP8L", b"ALPH"))
_WEBP_EXIF, _WEBP_ALPHA = 0x08, 0x10
# Tables, frames, restart interval, number of lines; start of scan is handled apart. Hierarchical ones are not.
_JPEG_NEEDED = frozenset((0xC4, 0xCC, 0xDB, 0xDC, 0xDD, *range(0xC0, 0xC4), *range(0xC9, 0xCC)))
_SOI, _EOI, _SOS, _APP0, _APP1, _APP14, _APP15, _COM = 0xD8, 0xD9, 0xDA, 0xE0, 0xE1, 0xEE, 0xEF, 0xFE


class NotClean(ValueError):
    """A picture whose words cannot be taken out; the reason is one of `unknown form`, `damaged`, `moving`."""


@dataclasses.dataclass(frozen=True)
class Picture:
    """A picture without its words."""

    data: bytes
    media_type: str
    suffix: str


def without_words(data: bytes) -> Picture:
    """The same picture with nothing but what shows it; raises NotClean. The form is told from the bytes alone."""
    try:
        if data.startswith(b"\xff\xd8\xff"):
            return Picture(_jpeg(data), "image/jpeg", "jpg")
        if data.startswith(_PNG):
            return Picture(_png(data), "image/png", "png")
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return Picture(_webp(data), "image/webp", "webp")
    except (IndexError, struct.error) as error:
        raise NotClean("damaged") from error
    raise NotClean("unknown form")


def _jpeg(data: bytes) -> bytes:
    kept: list[bytes] = []
    way_up, frame, scans = 1, False, 0
    for marker, content in _segments(data):
        if marker == _EOI:
            if not frame or not scans:
                raise NotClean("damaged")
            turned = [] if way_up == 1 else [_segment(_APP1, b"Exif\0\0" + _turned(way_up))]
            jfif = [part for part in kept if part[1] == _APP0][:1]
            rest = [part for part in kept if part[1] != _APP0]
            return b"".join((b"\xff\xd8", *jfif, *turned, *rest, b"\xff\xd9"))
        if marker == _APP0 and content.startswith(b"JFIF\0") and len(content) >= 12:
            kept.append(_segment(_APP0, content[:12] + b"\0\0"))  # without the small copy it may hold
        elif marker == _APP14 and content.startswith(b"Adobe") and len(content) >= 12:
            kept.append(_segment(_APP14, content[:12]))
        elif marker == _APP1 and content.startswith(b"Exif\0\0") and way_up == 1:
            way_up = _way_up(content[6:])
        elif marker == _SOS:
            scans += 1
            kept.append(b"\xff\xda" + content)
        elif marker in _JPEG_NEEDED:
            frame = frame or marker not in (0xC4, 0xCC, 0xDB, 0xDC, 0xDD)
            kept.append(_segment(marker, content))
        elif not (_APP0 <= marker <= _APP15 or marker == _COM):
            raise NotClean("unknown form")
    raise NotClean("damaged")


def _segment(marker: int, content: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(content) + 2).to_bytes(2, "big") + content


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Markers after the first with their content; for a scan its length field, header and coded data as they stand."""
    at = 2
    while at < len(data):
        if data[at] != 0xFF:
            raise NotClean("damaged")
        while data[at] == 0xFF:
            at += 1
        marker = data[at]
        at += 1
        if marker == _EOI:
            yield marker, b""
            return
        if marker == _SOI or marker < 0xC0 or 0xD0 <= marker <= 0xD7:
            raise NotClean("damaged")
        length = int.from_bytes(data[at : at + 2], "big")
        if length < 2 or at + length > len(data):
            raise NotClean("damaged")
        if marker == _SOS:
            end = _end_of_scan(data, at + length)
            yield marker, data[at:end]
            at = end
        else:
            yield marker, data[at + 2 : at + length]
            at += length
    raise NotClean("damaged")


def _end_of_scan(data: bytes, at: int) -> int:
    """Where coded data end: at the next FF that is neither a stuffed byte nor a restart."""
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        following = data[at + 1]
        if following == 0xFF:
            at += 1
        elif following == 0 or 0xD0 <= following <= 0xD7:
            at += 2
        else:
            return at
    raise NotClean("damaged")


def _png(data: bytes) -> bytes:
    kept: list[bytes] = []
    way_up = 1
    for name, content in _chunks(data, at=len(_PNG), order=">", sums=True):
        if name == b"eXIf":
            way_up = _way_up(content)
        elif name in _PNG_NEEDED:
            kept.append(_chunk(name, content))
        elif name[:1].isupper() and name != b"IEND":
            raise NotClean("unknown form")
        if name == b"IEND":
            if not kept or kept[0][4:8] != b"IHDR":
                raise NotClean("damaged")
            turned = [] if way_up == 1 else [_chunk(b"eXIf", _turned(way_up))]
            return b"".join((_PNG, kept[0], *turned, *kept[1:], _chunk(b"IEND", b"")))
    raise NotClean("damaged")


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def _chunks(data: bytes, *, at: int, order: str, sums: bool) -> Iterator[tuple[bytes, bytes]]:
    """Chunks of PNG (length, name, content, sum) or of RIFF (name, length, content, filler to an even length)."""
    while at < len(data):
        first, second = data[at : at + 4], data[at + 4 : at + 8]
        name, length = (
            (second, struct.unpack(order + "I", first)[0]) if sums else (first, struct.unpack("<I", second)[0])
        )
        content = data[at + 8 : at + 8 + length]
        if len(content) < length or len(name) < 4:
            raise NotClean("damaged")
        at += 8 + length
        if sums:
            if struct.unpack(">I", data[at : at + 4])[0] != zlib.crc32(name + content):
                raise NotClean("damaged")
            at += 4
        else:
            at += length % 2
        yield name, content


def _webp(data: bytes) -> bytes:
    size = struct.unpack("<I", data[4:8])[0]
    if size + 8 > len(data):
        raise NotClean("damaged")
    extended, kept, way_up = b"", [], 1
    for name, content in _chunks(data[: size + 8], at=12, order="<", sums=False):
        if name in (b"ANIM", b"ANMF"):
            raise NotClean("moving")
        if name == b"VP8X":
            if len(content) < 10:
                raise NotClean("damaged")
            extended = content[:10]
        elif name == b"EXIF":
            way_up = _way_up(content.removeprefix(b"Exif\0\0"))
        elif name in _WEBP_NEEDED:
            kept.append(_riff(name, content))
    if not any(part[:3] == b"VP8" for part in kept):
        raise NotClean("damaged")
    if extended:
        flags = extended[0] & _WEBP_ALPHA | (_WEBP_EXIF if way_up != 1 else 0)
        kept.insert(0, _riff(b"VP8X", bytes((flags, 0, 0, 0)) + extended[4:]))
        if way_up != 1:
            kept.append(_riff(b"EXIF", _turned(way_up)))
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _riff(name: bytes, content: bytes) -> bytes:
    return name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)


def _way_up(tiff: bytes) -> int:
    """The orientation 1 to 8 that a block of tags names; 1 when it names none or cannot be read."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    try:
        if order is None:
            return 1
        start = struct.unpack(order + "I", tiff[4:8])[0]
        count = struct.unpack(order + "H", tiff[start : start + 2])[0]
        for number in range(count):
            place = start + 2 + 12 * number
            tag, kind, _, value = struct.unpack(order + "HHIH", tiff[place : place + 10])
            if (tag, kind) == (_ORIENTATION, _SHORT):
                return value if 1 <= value <= 8 else 1
    except struct.error:
        return 1
    return 1


def _turned(way_up: int) -> bytes:
    """A block of tags that names the orientation and nothing else."""
    return struct.pack(">2sHIHHHIHHI", b"MM", 42, 8, 1, _ORIENTATION, _SHORT, 1, way_up, 0, 0)
