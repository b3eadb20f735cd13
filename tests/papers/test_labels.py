"""Labels: the code is read back by another program, from the same bytes that are printed."""

from __future__ import annotations

import io
import pathlib
import subprocess

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from pullstring.papers.labels import A4_70X37, TAPE_60X12, BadLabel, Label, Sheet, label_pdf, label_svg

TAPE_PPI = 203  # dots per inch of a common tape printer
LABELS = [
    Label("MLH", "E10", "parlour window"),
    Label("MLH", "D04.3"),
    Label("mlh", "c07", "a line that is longer than the tape"),
]


def picture(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png)).convert("L")


def codes(image: Image.Image) -> list[tuple[str, int, int]]:
    found = zxingcpp.read_barcodes(np.asarray(image))
    return [(c.text, c.position.top_left.x, c.position.top_left.y) for c in found]


@pytest.mark.parametrize("label", LABELS)
def test_tape__code_reads_back_as_the_identifier_only(label: Label) -> None:
    image = picture(label_pdf([label], sheet=TAPE_60X12, form="png", ppi=TAPE_PPI))
    assert [text for text, *_ in codes(image)] == [f"MLH/{label.tag.upper()}"]


def test_sheet__each_code_lies_on_its_own_label() -> None:
    labels = [Label("MLH", f"C{n:02}") for n in range(20)]
    sheet = Sheet("A4", 210, 297, 3, 8, 70, 37, top_mm=0.5, rule_at=(1, 7), used=2)
    image = picture(label_pdf(labels, sheet=sheet, form="png", ppi=200))
    mm = 25.4 / 200
    place = {text: (int(x * mm // 70), int((y * mm - 0.5) // 37)) for text, x, y in codes(image)}
    assert place == {f"MLH/C{n:02}": ((n + 2) % 3, (n + 2) // 3) for n in range(20)}


def test_sheet__rule_is_100_mm() -> None:
    ppi = 254  # ten dots a millimetre
    image = np.asarray(picture(label_pdf(LABELS[:1], sheet=A4_70X37, form="png", ppi=ppi)))
    row = np.flatnonzero(image[int((0.5 + 7 * 37 + 18.5) * 10)] < 128)
    assert row.max() - row.min() + 1 == pytest.approx(1000, abs=3)


def test_tape__page_is_exactly_60_by_12_mm(pdftoppm: str, tmp_path: pathlib.Path) -> None:
    (tmp_path / "t.pdf").write_bytes(label_pdf(LABELS, sheet=TAPE_60X12))
    subprocess.run([pdftoppm, "-r", "254", "-png", tmp_path / "t.pdf", tmp_path / "t"], check=True)
    made = sorted(tmp_path.glob("t-*.png"))
    assert [Image.open(p).size for p in made] == [(600, 120)] * 3


@pytest.mark.parametrize("size", [(60.0, 12.0), (70.0, 37.0)])
def test_label__no_ink_reaches_its_edge(size: tuple[float, float]) -> None:
    sheet = Sheet("one", *size, 1, 1, *size)
    long = Label("MLH", "UNIT-WITH-LONG-TAG", "and a line beneath that cannot possibly fit on any label " * 2)
    for label in (*LABELS, long):
        ink = np.asarray(picture(label_pdf([label], sheet=sheet, form="png", ppi=254))) < 128
        assert not ink[:4].any() and not ink[-4:].any() and not ink[:, :4].any() and not ink[:, -4:].any(), label.tag


def test_label__used_up_sheet_and_long_runs() -> None:
    full = Sheet("A4", 210, 297, 3, 8, 70, 37, used=24)
    with pytest.raises(BadLabel, match="24 places are used"):
        label_pdf(LABELS, sheet=full)
    with pytest.raises(BadLabel, match="nothing to print"):
        label_pdf([], sheet=TAPE_60X12)


@pytest.mark.parametrize("line", ["key: 4711", "wifi password = oranges", "PIN:0000"])
def test_label__secrets_never_print(line: str) -> None:
    with pytest.raises(BadLabel, match="secret"):
        Label("MLH", "E10", line)


def test_label__line_beneath_is_not_in_the_code() -> None:
    plain, spoken = (label_svg(Label("MLH", "E10", line), width_mm=60, height_mm=12) for line in ("", "parlour"))
    assert plain.split('class="qr"')[1].split('"/>')[0] == spoken.split('class="qr"')[1].split('"/>')[0]


def test_label__tag_outside_the_small_code_alphabet_is_refused() -> None:
    with pytest.raises(BadLabel, match="capitals, digits"):
        Label("MLH", "Büro_1")
