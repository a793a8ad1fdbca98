"""The tables of an export, in the order in which they can be read back.

Rows name one another by what people see (a maker's code, a piece's number), so a person can follow them. The
database's own numbers are written too where an empty shop has no rows of that kind: stored documents (the
digest of a judgement's basis) speak of them, and restoring keeps them.

Not written: passwords and sign-ins, background work, uploads that were never stored and the uploaded files
themselves, and documents, which can be drawn again.
"""

from __future__ import annotations

from typing import Final

from inventory.models import (
    Batch,
    CataloguePoint,
    DecisionRule,
    Defect,
    DefectKind,
    Delivery,
    Disposition,
    ImportRun,
    Inspection,
    Instrument,
    JudgementBasis,
    Maker,
    MeasurePoint,
    Photo,
    Piece,
    PieceVerdict,
    Reading,
    Shop,
    SlipQuestion,
    Spec,
    SpecCell,
    SpecPoint,
    SpecSize,
    Style,
    UnreadSide,
    User,
)
from inventory.services.exporting.columns import table_of as _table
from inventory.services.exporting.own_tables import OWN_TABLES
from inventory.services.exporting.pictures import name_pictures
from inventory.services.exporting.references import (
    BATCH,
    DELIVERY,
    PIECE,
    SITTING,
    instrument,
    maker,
    person,
    rule,
    spec,
    style,
)
from inventory.services.exporting.sampling_tables import SAMPLING_TABLES
from inventory.services.exporting.subjects import audit_table

_TABLES: Final = (
    _table("rules", DecisionRule, key=("code", "version"), order=("code", "version")),
    _table("shop", Shop, key=("name",), refs=[rule("shelf_rule"), rule("claim_rule")]),
    _table(
        "people",
        User,
        key=("username",),
        order=("username",),
        skip=("password", "last_login", "is_superuser", "is_staff", "date_joined"),
    ),
    _table("catalogue", CataloguePoint, key=("group", "code")),
    _table("defect_kinds", DefectKind, key=("family", "name")),
    _table("makers", Maker, key=("code",), own_key="id"),
    _table("styles", Style, key=("code",), own_key="id"),
    # Which error of a point holds follows from its errors: the newest does.
    _table(
        "points",
        MeasurePoint,
        key=("style", "code"),
        own_key="id",
        skip=("known_error",),
        refs=[style()],
    ),
    _table("instruments", Instrument, key=("number",), own_key="id"),
    _table("specs", Spec, key=("style", "revision"), own_key="id", refs=[style(), person("author")]),
    _table("spec_sizes", SpecSize, key=("style", "revision", "label"), own_key="id", refs=[spec()]),
    _table(
        "spec_points",
        SpecPoint,
        key=("style", "revision", "point"),
        own_key="id",
        refs=[spec(), ("point", "points", (("style", "spec__style__code"), ("point", "point__code")))],
    ),
    _table(
        "spec_figures",
        SpecCell,
        key=("style", "revision", "point", "size"),
        own_key="id",
        refs=[
            (
                "spec_point",
                "spec_points",
                (
                    ("style", "spec_point__spec__style__code"),
                    ("revision", "spec_point__spec__revision"),
                    ("point", "spec_point__point__code"),
                ),
            ),
            (
                "size",
                "spec_sizes",
                (
                    ("style", "spec_point__spec__style__code"),
                    ("revision", "spec_point__spec__revision"),
                    ("size", "size__label"),
                ),
            ),
        ],
    ),
    _table(
        "deliveries",
        Delivery,
        key=("number",),
        own_key="id",
        refs=[maker(), person("received_by")],
    ),
    _table(
        "batches",
        Batch,
        key=("number",),
        own_key="id",
        refs=[
            DELIVERY,
            style(),
            ("spec", "specs", (("style", "style__code"), ("revision", "spec__revision"))),
        ],
    ),
    # Only what was stored, so that the same file is recognised in the restored shop as well.
    _table(
        "imports",
        ImportRun,
        key=("import_kind", "import"),
        skip=("job",),
        blank=("file",),
        only={"state": ImportRun.State.STORED},
        refs=[person("created_by")],
        names={"kind": "import_kind", "digest": "import"},
    ),
    _table(
        "pieces",
        Piece,
        key=("number",),
        own_key="id",
        refs=[BATCH],
    ),
    _table(
        "inspections",
        Inspection,
        key=("inspection",),
        own_key="inspection",
        refs=[
            PIECE,
            (
                "import_run",
                "imports",
                (("import_kind", "import_run__kind"), ("import", "import_run__digest")),
            ),
            instrument(),
            person("opened_by"),
        ],
    ),
    _table(
        "readings",
        Reading,
        key=("reading",),
        own_key="reading",
        refs=[
            SITTING,
            (
                "point",
                "points",
                (("style", "inspection__piece__batch__style__code"), ("point", "point__code")),
            ),
            instrument(),
            person("taken_by"),
            ("corrects", "readings", (("corrects", "corrects"),)),
        ],
    ),
    _table(
        "unread_sides",
        UnreadSide,
        key=("inspection", "point", "side"),
        own_key="id",
        refs=[
            SITTING,
            (
                "point",
                "points",
                (("style", "inspection__piece__batch__style__code"), ("point", "point__code")),
            ),
            person("noted_by"),
        ],
    ),
    _table(
        "slip_questions",
        SlipQuestion,
        key=("question_number",),
        own_key="question_number",
        refs=[("reading", "readings", (("reading", "reading"),)), person("answered_by")],
    ),
    _table("judgement_bases", JudgementBasis, key=("digest",), own_key="id", refs=[spec()]),
    _table(
        "verdicts",
        PieceVerdict,
        key=("verdict",),
        own_key="verdict",
        refs=[
            PIECE,
            SITTING,
            ("basis", "judgement_bases", (("basis", "basis__digest"),)),
            person("judged_by"),
        ],
    ),
    _table(
        "dispositions",
        Disposition,
        key=("disposition",),
        own_key="disposition",
        refs=[PIECE, person("decided_by")],
    ),
    _table(
        "defects",
        Defect,
        key=("defect",),
        own_key="defect",
        refs=[
            BATCH,
            PIECE,
            (
                "known_kind",
                "defect_kinds",
                (("kind_family", "known_kind__family"), ("known_kind", "known_kind__name")),
            ),
            person("seen_by"),
        ],
    ),
    _table(
        "photos",
        Photo,
        key=("photo",),
        own_key="photo",
        refs=[("defect", "defects", (("defect", "defect"),)), person("added_by")],
        translate=name_pictures,
    ),
)

_ENTERED: Final = (*_TABLES, *OWN_TABLES, *SAMPLING_TABLES)

TABLES: Final = (*_ENTERED, audit_table(_ENTERED, who=person("who")))

BY_NAME: Final = {table.name: table for table in TABLES}
