"""Ways to spoil a file, from a seeded chance."""

from __future__ import annotations

import csv
import io
import random
import zipfile
from collections.abc import Sequence

SIGNS = "0123456789 ./,-½¼\"'=+@;:\t\nabcWAUBLR\0\x0b\u2028é漢"
TEXTS = (
    "WA L", "24", "330", "13 1/2", "3/8", "2024-08-03", "Total", "", " ", "#REF!", "-", "1e400", "=1+1",
    "9" * 60,
)  # fmt: skip


def random_text(rnd: random.Random) -> str:
    return "".join(rnd.choices(SIGNS, k=rnd.randrange(20)))


def random_csv(rnd: random.Random, header: Sequence[str]) -> bytes:
    """A table whose header has some right names, and whose cells are anything."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=rnd.choice(",;\t"))
    writer.writerow(rnd.sample(header, rnd.randrange(1, len(header))) + rnd.choices(TEXTS, k=2))
    for _ in range(rnd.randrange(12)):
        cells = [
            rnd.choice(TEXTS) if rnd.random() < 0.6 else random_text(rnd) for _ in range(rnd.randrange(14))
        ]
        writer.writerow(cells)
    return out.getvalue().encode(rnd.choice(("utf-8", "utf-16", "utf-8-sig")), errors="replace")


def damaged(rnd: random.Random, whole: bytes, *, most: int = 30) -> bytes:
    """Some bytes changed, and now and then the end gone."""
    content = bytearray(whole)
    for _ in range(rnd.randrange(1, most)):
        content[rnd.randrange(len(content))] = rnd.randrange(256)
    return bytes(content[: rnd.randrange(len(content))] if rnd.random() < 0.3 else content)


def damaged_inside(rnd: random.Random, whole: bytes) -> bytes:
    """A packed file with damage in one part, packed again in good order, so that it reaches the reader."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        victim = rnd.choice(old.namelist())
        for name in old.namelist():
            part = bytearray(old.read(name))
            if name == victim and part:
                for _ in range(rnd.randrange(1, 8)):
                    part[rnd.randrange(len(part))] = rnd.randrange(256)
                if rnd.random() < 0.3:
                    del part[rnd.randrange(len(part)) :]
            if name != victim or rnd.random() < 0.9:
                new.writestr(name, bytes(part))
    return out.getvalue()


def damaged_package(rnd: random.Random, whole: bytes) -> bytes:
    """A packed file damaged outside or inside."""
    return damaged(rnd, whole, most=10) if rnd.random() < 0.4 else damaged_inside(rnd, whole)
