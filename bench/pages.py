"""How long each page of the laptop takes from a cold start, and how much is fetched for it.

    PYTHONPATH=. python bench/pages.py SITE

A server of its own is started for each page; the clock runs from the moment it says its address. Beside it the same page
asked again, so that the ratio shows what the start costs.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from tests.web.served import Served, serving

PAGES = (
    "/",
    "/plan",
    "/closet",
    "/riser",
    "/ends",
    "/outlets",
    "/runs",
    "/power",
    "/if-cut",
    "/history",
    "/inbox",
    "/draw",
    "/pocket",
)
FRAME = (
    "/static/ink.css",
    "/static/page.css",
    "/static/frame.css",
    "/static/frame.js",
    "/static/plan.js",
    "/static/send.js",
)
FACES = ("/fonts/B612-Regular.woff2", "/fonts/B612-Bold.woff2", "/fonts/B612Mono-Regular.woff2")


def asked(served: Served, page: str) -> tuple[float, int]:
    """Seconds and bytes as sent."""
    began = time.perf_counter()
    _, _, body = served.ask(page, headers={"Accept": "text/html", "Accept-Encoding": "gzip"})
    return time.perf_counter() - began, len(body)


def main() -> None:
    site = Path(sys.argv[1])
    print(f"{'page':10} {'cold s':>7} {'again s':>8} {'ratio':>6} {'kB':>6} {'with frame and faces kB':>24}")
    for page in PAGES:
        with serving(site) as served:
            cold, size = asked(served, page)
            again, _ = asked(served, page)
            around = sum(asked(served, part)[1] for part in (*FRAME, *FACES))
        print(
            f"{page:10} {cold:7.2f} {again:8.3f} {cold / again:6.0f} {size / 1000:6.1f} {(size + around) / 1000:24.1f}"
        )


if __name__ == "__main__":
    main()
