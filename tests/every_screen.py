"""A shop with something behind every address, so that all screens can be asked for or looked at.

`lay_out_everything(owner)` gives the address of every named screen; a screen that was added and has none here
fails `tests/shop_qc/test_urls.py`.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone
from PIL import Image

from inventory import tasks
from inventory.models import Batch, CataloguePoint, DefectKind, Piece, User
from inventory.services.defects import note_defect
from inventory.services.dispositions import decide_disposition
from inventory.services.exporting.runs import request_export
from inventory.services.importing.runs import upload_file
from inventory.services.judging import judge_inspection
from inventory.services.specs import revise_spec
from inventory.services.studies import finish_study
from reports.models import Document
from reports.services.documents import request_document
from tests import factories
from tests.factories import MM, NOW
from tests.inventory.services.sampling import cast as sampling_cast
from tests.study_readings import read_study

if TYPE_CHECKING:
    from inventory.models import Spec

Addressed = tuple[str | int, ...]  # what an address names


def named_addresses() -> Iterator[tuple[str, str]]:
    """Every address of the project as (path pattern, full name), by a walk through the resolver."""
    yield from _walk(get_resolver(), path="", space="")


def _walk(resolver: URLResolver, *, path: str, space: str) -> Iterator[tuple[str, str]]:
    for entry in resolver.url_patterns:
        here = path + str(entry.pattern).removeprefix("^")
        if isinstance(entry, URLPattern):
            yield here, f"{space}{entry.name}"
        else:
            yield from _walk(entry, path=here, space=f"{entry.namespace}:" if entry.namespace else space)


def lay_out_everything(owner: User) -> dict[str, str]:
    """Fill the shop, and give the address of each screen by its name."""
    batch = busy_batch(owner)
    unread = batch.pieces.get(colour="waiting").number
    of_bench = ("bench-piece", "bench-reading", "bench-unread", "bench-finish", "bench-paper", "bench-level")
    arguments = {
        **_without_arguments(),
        **_of_the_floor(batch),
        **dict.fromkeys(of_bench, (unread,)),
        **_of_set_up(owner),
        **_of_studies(owner),
        **_of_tapes_and_garments(owner),
        **_of_exchange(owner, batch),
        **_of_documents(owner, batch),
        **_of_sampling(owner),
    }
    addresses = {name: reverse(name, args=given) for name, given in arguments.items()}
    addresses["document-new"] += f"?kind=labels&batch={batch.label}"
    return addresses


def _without_arguments() -> dict[str, Addressed]:
    """The screens whose address names nothing; other programs' addresses and the admin site's left out."""
    return {
        name: ()
        for path, name in named_addresses()
        if "<" not in path and not path.startswith(("admin/", "api/"))
    }


def busy_batch(owner: User) -> Batch:
    """A batch with something of everything: verdicts, defects, a photo, decisions, work to do."""
    delivery = factories.make_delivery(arrived_at=timezone.now() - dt.timedelta(days=12))
    batch = factories.make_batch(delivery=delivery, pieces_announced=9)
    _judged(batch, {})
    out = _judged(batch, {("WA", "L"): 20, ("WA", "R"): 19})
    _judged(batch, {("WA", "L"): 6, ("WA", "R"): 5})
    _judged(
        batch, {(code, side): step for code, step in (("UB", 25), ("WA", 25), ("CF", 5)) for side in "LR"}
    )
    factories.make_inspection(factories.make_piece(batch))
    factories.make_piece(batch, colour="waiting")
    note_defect(
        batch=batch,
        piece=out,
        kind="burr on the busk",
        severity="critical",
        zone="C",
        size_nm=3 * MM,
        by=owner,
        at=NOW,
        photos=[SimpleUploadedFile("tag.jpg", _picture())],
    )
    decide_disposition(piece=out, decision="second", reason="waist over", by=owner, at=NOW)
    return batch


def _judged(batch: Batch, off_mm: Mapping[tuple[str, str], float]) -> Piece:
    piece = factories.make_piece(batch, colour="ivory")
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    wrong = sitting.readings.get(point__code="CF", side="L")
    factories.make_reading(
        sitting, "CF", "L", mm=wrong.length_nm / MM, corrects=wrong, reason="read at the wrong height"
    )
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return piece


def _picture() -> bytes:
    written = io.BytesIO()
    Image.new("RGB", (300, 200), "#334").save(written, "JPEG")
    return written.getvalue()


def _of_the_floor(batch: Batch) -> dict[str, Addressed]:
    out, defect = batch.pieces.get(standing="second"), batch.defects.get()
    photo = defect.photos.get()
    of_batch = (
        "batch",
        "batch-causes",
        "batch-history",
        "pieces-new",
        "batch-dispositions",
        "batch-defects",
        "batch-risks",
        "defect-new",
    )
    return {
        **dict.fromkeys(("delivery", "delivery-history", "batch-new"), (batch.delivery.number,)),
        **dict.fromkeys(of_batch, (batch.number,)),
        **dict.fromkeys(("piece", "piece-history", "piece-correct", "disposition-new"), (out.number,)),
        "defect-photos": (defect.pk,),
        "photo": (photo.pk,),
        "photo-original": (photo.pk,),
    }


def _of_set_up(owner: User) -> dict[str, Addressed]:
    maker, instrument = (
        factories.make_maker(code="north", note="Cuts on Mondays."),
        factories.make_instrument(),
    )
    spec: Spec = factories.make_spec(factories.make_style(code="elm", contains_metal=True), author=owner)
    draft = revise_spec(spec=spec, reason="tighter", by=owner, at=NOW)
    point = spec.style.points.get(code="WA")
    colleague = factories.make_user()
    by_draft = ("spec", "spec-edit", "spec-tolerances", "spec-frame", "spec-publish", "spec-discard")
    return {
        **dict.fromkeys(("maker", "maker-edit"), (maker.code,)),
        **dict.fromkeys(("style", "style-edit", "point-new"), ("elm",)),
        "spec-new": (factories.make_style(code="oak").code,),
        **dict.fromkeys(("point-edit", "point-move", "point-retire", "point-bring-back"), (point.pk,)),
        "defect-kind": (DefectKind.objects.all()[0].pk,),
        "catalogue-point": (CataloguePoint.objects.filter(group="laced")[0].pk,),
        **dict.fromkeys((*by_draft, "spec-changes"), (draft.pk,)),
        "spec-revise": (spec.pk,),
        **dict.fromkeys(("instrument-edit", "instrument-retire", "instrument-bring-back"), (instrument.pk,)),
        "rule-choose": (factories.the_shop().shelf_rule.pk,),
        **dict.fromkeys(("person-edit", "person-password"), (colleague.pk,)),
    }


def _of_tapes_and_garments(owner: User) -> dict[str, Addressed]:
    """A tape that was good and is not any more, and a garment that says our measuring has moved."""
    tape = factories.make_instrument(description="yellow", check_every_days=1)
    factories.make_tape_check(tape, near_mm=0.5, far_mm=-0.5, by=owner)
    check = factories.make_tape_check(tape, near_mm=-3, far_mm=-8, at=NOW + dt.timedelta(days=3), by=owner)
    garment = factories.make_check_garment(code="KEEP-1", kept_where="drawer 3")
    for number, waist in enumerate((355, 356, 355, 354, 355, 356, 355, 355, 355, 368)):
        at = NOW + dt.timedelta(days=number)
        factories.read_check_garment(garment, {"WA": waist, "CF": 305}, at=at, by=owner)
    sitting = factories.make_check_sitting(garment, opened_by=owner)
    of_sitting = ("check-sitting", "check-sitting-readings", "check-sitting-finish")
    of_garment = ("check-garment", "check-garment-anew", "check-garment-retire", "check-sitting-new")
    return {
        **dict.fromkeys(("instrument", "tape-check", "tape-rejudge"), (tape.pk,)),
        "tape-check-result": (tape.pk, check.pk),
        **dict.fromkeys(of_garment, (garment.code,)),
        **dict.fromkeys(of_sitting, (garment.code, sitting.pk)),
    }


def _of_studies(owner: User) -> dict[str, Addressed]:
    """A study that runs, with a turn of the owner's; one that is finished, and a point's budget."""
    running = factories.make_study(people=(owner, factories.make_user()), pieces=5)
    ended = read_study(factories.make_study(pieces=6))
    finish_study(study=ended, by=owner, at=NOW)
    turn = running.turns.filter(study_person__person=owner).first()
    assert turn is not None
    point = ended.style.points.get(code="WA")
    return {
        "study": (ended.number,),
        "study-effect": (ended.number,),
        **dict.fromkeys(("study-bench", "study-finish", "study-give-up"), (running.number,)),
        **dict.fromkeys(("study-turn", "study-readings"), (running.number, turn.pk)),
        "point-budget": (ended.style.code, point.pk),
        "point-error": (point.pk,),
    }


def _of_exchange(owner: User, batch: Batch) -> dict[str, Addressed]:
    content = b"Piece,Size,UB L\na1,24,405\n"
    run = upload_file(kind="pieces", name="pieces.csv", content=content, by=owner, at=NOW)
    job = request_export(form="json", by=owner, at=NOW)
    tasks.execute(job.pk)
    of_run = ("import", "import-columns", "import-check", "import-store", "import-progress")
    return {
        "import-new": ("pieces",),
        **dict.fromkeys(of_run, (run.pk,)),
        **dict.fromkeys(("export", "export-progress", "export-file"), (job.pk,)),
        "import-template": (
            batch.style.code,
            "pieces",
            "csv",
        ),
    }


def _of_sampling(owner: User) -> dict[str, Addressed]:
    """A batch decided by its sample, and one of the same maker to be drawn from."""
    maker = factories.make_maker()
    decided, to_draw = (sampling_cast.big_batch(60, maker=maker) for _ in range(2))
    sampling_cast.agreed(decided, by=owner)
    sample = sampling_cast.drawn(decided, by=owner)
    sampling_cast.measure(sample)
    return {
        **dict.fromkeys(("batch-sampling", "sampling-list", "sampling-decide"), (decided.number,)),
        "sampling-draw": (to_draw.number,),
        **dict.fromkeys(("maker-sampling", "maker-sampling-set"), (maker.code,)),
        **dict.fromkeys(("style-sampling", "style-sampling-set"), (maker.code, decided.style.code)),
    }


def _of_documents(owner: User, batch: Batch) -> dict[str, Addressed]:
    document = request_document(kind=Document.Kind.LABELS, subject=batch, paper="A4", by=owner, at=NOW)
    tasks.execute(document.job_id)
    return dict.fromkeys(("document", "document-progress", "document-file"), (document.pk,))
