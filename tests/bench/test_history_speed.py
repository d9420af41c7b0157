"""Releasing histories with photographs, and searching a page for what is private."""

from __future__ import annotations

import io
from time import perf_counter
from typing import TYPE_CHECKING

import pytest
from PIL import Image, ImageOps

from recondition.amounts import Money
from recondition.book.engine import open_book
from recondition.history.net import Secret, Sort, search
from recondition.reports.checking import checked
from recondition.reports.history_files import write_release
from tests.cli.released import make, released
from tests.history.test_net import amounts
from tests.places import copied
from tests.running import done, stand_in

if TYPE_CHECKING:
    from pathlib import Path

CARS, EACH = ("0007", "0008"), 40
SIZE = (4032, 3024)  # 12 megapixels
LARGE, SMALL = 2048, 880


def photographs(folder: Path) -> list[Path]:
    """Make noisy photographs of 12 megapixels, as heavy as a telephone's."""
    folder.mkdir()
    noise = Image.effect_noise((SIZE[0] // 4, SIZE[1] // 4), 60).resize(SIZE)
    slope = Image.linear_gradient("L").resize(SIZE)
    paths = []
    for number in range(len(CARS) * EACH):
        shade = Image.new("L", SIZE, 3 * number)
        paths.append(folder / f"{number:02}.jpg")
        exif = Image.Exif()
        exif[0x0112] = 6 if number % 4 == 0 else 1
        Image.merge("RGB", (noise, slope, shade)).save(paths[-1], quality=85, exif=exif)
    return paths


def bare(paths: list[Path]) -> float:
    """Scale each to the same two sizes with nothing around it; give the seconds."""
    started = perf_counter()
    for path in paths:
        upright = ImageOps.exif_transpose(Image.open(path))
        for side in (LARGE, SMALL):
            upright.thumbnail((side, side))
            upright.save(io.BytesIO(), "JPEG")
    return perf_counter() - started


@pytest.mark.bench
def test_two_vehicles_with_80_photographs_are_released_in_seconds(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = copied(released(tmp_path_factory), tmp_path / "work")
    stand_in(work, monkeypatch)
    paths = photographs(work / "photographs")
    for number, path in enumerate(paths):
        line = f'recondition document add {CARS[number // EACH]} {path} photograph "view {number}"'
        done(f"{line} --who-may-see-it listing --taken-at 2031-02-01T09:{number % 60:02}+00:00")
    plain = bare(paths)
    book = open_book("shop.book")
    whole = 0.0
    for car in CARS:
        started = perf_counter()
        made = make(book, car=car)
        write_release(made, work / car)
        took = perf_counter() - started
        whole += took
        started = perf_counter()
        assert checked(work / car).holds
        proving = perf_counter() - started
        sizes = [(work / car / f"work-history.{end}").stat().st_size for end in ("html", "pdf")]
        page, paper = (size / 2**20 for size in sizes)
        print(f"\n{car}: {took:.1f} s; page {page:.1f} MiB, PDF {paper:.1f} MiB; "  # noqa: T201
              f"checked in {proving:.2f} s")  # fmt: skip
    megapixels = len(paths) * SIZE[0] * SIZE[1] / 1e6
    print(f"{len(paths)} photographs, {megapixels:,.0f} megapixels: {whole:.1f} s for both, "  # noqa: T201
          f"{plain:.1f} s bare, ratio {whole / plain:.2f}")  # fmt: skip
    assert whole < 60


@pytest.mark.bench
def test_a_megabyte_is_searched_for_five_thousand_secrets() -> None:
    notes = [f"a private note of number {n} and so on" for n in range(2000)]
    names = [f"Person{n}x of Place" for n in range(1000)]
    made = amounts(*(Money(123456 + 37 * n, "USD") for n in range(2000)))
    made += [Secret(Sort.NOTE, n, "", (n.replace(" ", ""),)) for n in notes]
    made += [Secret(Sort.NAME, n, "", (n,)) for n in names]
    words = "Measured 112 um at 4.31 h, a private word and 1,204.75 of no meaning to anybody. "
    text = words * (1_000_000 // len(words)) + notes[-1]
    started = perf_counter()
    hits = search({"page": [text]}, made)
    ours = perf_counter() - started
    assert [hit.secret.text for hit in hits] == [notes[-1]]
    started = perf_counter()
    found = [secret for secret in made if secret.text in text]
    plain = perf_counter() - started
    assert notes[-1] in [secret.text for secret in found]
    print(f"\n5,000 secrets in a megabyte: {ours:.2f} s, one look for each as it is written "  # noqa: T201
          f"{plain:.2f} s, ratio {ours / plain:.2f}")  # fmt: skip
    assert ours < 3 * plain
