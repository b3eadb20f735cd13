"""The first page: one sheet whatever the house is like, with what matters most on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.papers.book_first import page, page_data, pieces
from pullstring.papers.book_letters import Letters
from pullstring.papers.typst_page import made
from tests.journeys.printed import faces, flat, pages
from tests.journeys.sites import HAND, Rows, make, packaged, write

COMPANY = {
    "company": "ALM",
    "name": "Alarm company",
    "hours": "Mo-Fr 8-17",
    "phone": "0555 0199",
    "may_decide": "alarm",
}


def house(**more: list[dict[str, str]]) -> Rows:
    rows: Rows = {
        "property": [{"property": "XH", "name": "Invented house"}],
        "companies": [COMPANY],
        "cables": [{"cable": "C1"}, {"cable": "C2"}],
        "ends": [{"end": "E1", "cable": "C1"}, {"end": "E2", "cable": "C2"}],
        "services": [
            {"service": "FIRE", "name": "fire line", "keep": "yes", "protected_by": "ALM", "carried_on": "end:E1",
             "hours": "always", "needs": "line", "arrives_at": ""},
        ],
    }  # fmt: skip
    return {**rows, **more}


def first(folder: Path, rows: Rows, *, today: str = "2026-03-10") -> tuple[list[str], dict[str, object]]:
    site = make(folder, rows, code="XH")
    answer = api.sheet(site, Request(today=today))
    (folder / "first.pdf").write_bytes(made("first.typ", page_data(answer, Letters())))
    return pages(folder / "first.pdf"), dict(answer.answer)


def test_first__what_must_not_be_touched_and_whom_to_call(tmp_path: Path) -> None:
    (text,), _ = first(tmp_path, house())
    said = flat(text)
    assert "only ALM end E1; cable C1" in said
    assert "must stay alive fire line (always): end E1" in said
    assert "ALM, Alarm company alarm Mo-Fr 8-17 0555 0199" in said
    heads = ["Do not touch", "Dark now", "Where the record contradicts itself", "What changed", "Whom to call"]
    assert [said.index(h) for h in heads] == sorted(said.index(h) for h in heads)


def test_first__dark_now_names_the_breaker(tmp_path: Path) -> None:
    """A terminal fed by a circuit that is off is dark, and so is the service that arrives there."""
    rows = house(
        circuits=[{"circuit": "BAR", "breaker": "off"}],
        sockets=[{"socket": "K1", "fed_by": "circuit:BAR"}],
        models=[{"model": "M1", "what": "terminal", "takes": "plug"}],
        units=[{"unit": "D1", "model": "M1", "fed_by": "socket:K1", "name": "till"}],
    )
    rows["services"].append(
        {"service": "PAY", "name": "till works", "keep": "yes", "needs": "power", "arrives_at": "unit:D1"}
    )
    (text,), said = first(tmp_path, rows)
    assert "till works must stay alive; off: circuit BAR" in flat(text)
    assert "unit D1, till off: circuit BAR" in flat(text)
    (on,), _ = first(tmp_path / "on", {**rows, "circuits": [{"circuit": "BAR", "breaker": "on"}]})
    assert "off: circuit BAR" not in flat(on) and said["dark"]


def test_first__two_accounts_and_contradictions(tmp_path: Path) -> None:
    rows = house(
        outlets=[{"outlet": "O1"}, {"outlet": "O2"}],
        claims=[
            {"subject": "end:E2", "relation": "ends_at", "object": "outlet:O1", "grade": "seen"},
            {"subject": "end:E2", "relation": "ends_at", "object": "outlet:O2", "grade": "seen"},
        ],
    )
    (text,), _ = first(tmp_path, rows)
    assert "end E2 ends at outlet O1 against outlet O2" in flat(text)


def test_first__what_changed_since_the_last_visit_and_not_before(tmp_path: Path) -> None:
    """Visit V1 began on 1 May 2026; what was done in April came before it."""
    site = make(tmp_path, house(visits=[{"visit": "V1", "arrives": "2026-05-01", "leaves": "2026-05-02"}]), code="XH")
    for day, act in (("2026-04-10", "cable:C1"), ("2026-05-02", "cable:C2")):
        rows = {"acts": [{"act": "take out", "subject": act, "at": day}]}
        api.import_(site, Request(today="2026-09-01"), folder=write(tmp_path / day, rows), **HAND)
    said = api.sheet(site, Request(today="2026-09-01")).answer["changed"]
    assert (said["since"], said["visit"], said["begun"]) == ("2026-05-01", "V1", "")
    assert said["groups"] == [{"did": "take out", "as": "", "things": ["cable:C2"]}]
    early = api.sheet(site, Request(today="2026-04-20")).answer["changed"]
    assert (early["since"], early["visit"]) == ("2026-03-21", "")  # thirty days before 20 April
    assert early["groups"] == [{"did": "take out", "as": "", "things": ["cable:C1"]}]


def test_first__a_record_begun_lately_is_told_as_that(tmp_path: Path) -> None:
    (text,), said = first(tmp_path, house())
    assert said["changed"]["begun"] == "2026-03-10" and said["changed"]["groups"] == []  # type: ignore[index]
    assert "The record was begun on 10 March 2026" in flat(text)


@pytest.fixture(scope="module")
def troubled(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[str], dict[str, object], Path]:
    """Two hundred ends that are guarded, contradicted or dark, with long names, and sixty companies."""
    folder = tmp_path_factory.mktemp("troubled")
    count = range(200)
    name = "A name that somebody made as long as forty"
    rows = house(
        cables=[{"cable": f"C{n}"} for n in count],
        ends=[{"end": f"E{n}", "cable": f"C{n}"} for n in count],
        outlets=[{"outlet": f"O{n}"} for n in count],
        companies=[{"company": f"Q{n}", "name": f"{name} {n}", "may_decide": name} for n in range(60)],
        services=[
            {"service": f"S{n}", "name": f"{name} {n}", "keep": "yes", "protected_by": f"Q{n % 60}", "carried_on": f"end:E{n}",
             "needs": "data", "source": "feed", "from": f"end:E{n}", "arrives_at": f"outlet:O{n}"}
            for n in count
        ],
        claims=[
            {"subject": f"end:E{n}", "relation": "ends_at", "object": f"outlet:O{m % 200}", "grade": "seen"}
            for n in count for m in (n, n + 1)
        ],
    )  # fmt: skip
    text, said = first(folder, rows)
    return text, said, folder / "first.pdf"


def test_first__two_hundred_problems_on_one_page_the_rest_counted(
    troubled: tuple[list[str], dict[str, object], Path],
) -> None:
    text, said, pdf = troubled
    assert len(text) == 1
    shown = flat(text[0])
    for head in ("Do not touch", "Dark now", "Where the record contradicts itself", "What changed", "Whom to call"):
        assert head in shown
    assert shown.count(" more: ") >= 2 and "site --all" in shown
    assert "None" not in shown and faces(pdf)[1]
    count = len(said["contradictions"])  # type: ignore[arg-type]
    rows = shown.partition("Where the record contradicts itself")[2].partition("What changed")[0]
    left = int(rows.rsplit(" more: site", 1)[0].split()[-1])
    assert rows.count(" against ") + left == count > 100  # nothing is lost between what is shown and what is counted


def test_first__nothing_at_all_is_still_a_page(tmp_path: Path) -> None:
    site = tmp_path / "empty.site"
    api.new(site, Request(today="2026-03-10"), code="NIL", name="", **HAND)
    answer = api.sheet(site, Request(today="2026-03-10"))
    (tmp_path / "a.pdf").write_bytes(made("first.typ", page_data(answer, Letters())))
    (text,) = pages(tmp_path / "a.pdf")
    assert "Nothing is noted as protected" in flat(text) and "None" not in text


def test_first__black_only(tmp_path: Path, pdftoppm: str) -> None:
    """Every dot is some grey: red, green and blue alike."""
    import subprocess

    from PIL import Image

    first(tmp_path, house())
    subprocess.run([pdftoppm, "-r", "40", "-png", str(tmp_path / "first.pdf"), str(tmp_path / "p")], check=True)
    picture = Image.open(next(tmp_path.glob("p*.png"))).convert("RGB")
    assert all(r == g == b for _, (r, g, b) in picture.getcolors(1 << 24))


def test_first__the_same_words_in_the_browser(tmp_path: Path) -> None:
    site = make(tmp_path, packaged("two_rooms"))
    answer = api.sheet(site, Request(today="2026-03-10"))
    paper = {row[0] for s in page_data(answer, Letters())["sections"] for row in s["rows"]}
    shown = {row[0] for block in page(answer).blocks if hasattr(block, "rows") for row in block.rows}
    assert paper and paper == shown


def test_pieces__no_tag_is_lost_and_rows_stay_short() -> None:
    refs = [f"cable:C{n}" for n in range(300)]
    made_of = pieces(refs)
    assert [t for p in made_of for t in p.replace("cable ", "").split(", ")] == [f"C{n}" for n in range(300)]
    assert max(map(len, made_of)) <= 150
