"""The database itself refuses to change what must never change: readings, verdicts, audit rows, frozen specs."""

from django.db import migrations

# table, columns that may still change (empty: none), name told in the error
APPEND_ONLY = [
    ("inventory_reading", (), "readings_are_never_overwritten"),
    ("inventory_auditrow", (), "audit_rows_are_never_overwritten"),
    ("inventory_disposition", (), "dispositions_are_never_overwritten"),
    ("inventory_judgementbasis", (), "judgement_bases_are_never_overwritten"),
    ("inventory_decisionrule", (), "decision_rules_are_never_overwritten"),
    ("inventory_pieceverdict", ("is_current",), "verdicts_are_never_overwritten"),
    ("inventory_tapecheck", (), "tape_checks_are_never_overwritten"),
    ("inventory_tapecheckreading", (), "readings_are_never_overwritten"),
    ("inventory_checkreading", (), "readings_are_never_overwritten"),
    ("inventory_studyreading", (), "readings_are_never_overwritten"),
    ("inventory_pointerror", (), "reading_errors_are_never_overwritten"),
    ("inventory_samplingscheme", (), "sampling_schemes_are_never_overwritten"),
    ("inventory_batchsampling", (), "samples_are_never_overwritten"),
    ("inventory_drawnpiece", (), "samples_are_never_overwritten"),
    ("inventory_batchdecision", (), "decisions_are_never_overwritten"),
    ("inventory_switchingnote", (), "notes_are_never_overwritten"),
]

FROZEN = [
    ("inventory_speccell", "(SELECT s.state FROM inventory_spec s JOIN inventory_specpoint p ON p.spec_id = s.id "
                           "WHERE p.id = OLD.spec_point_id)"),
    ("inventory_specpoint", "(SELECT s.state FROM inventory_spec s WHERE s.id = OLD.spec_id)"),
    ("inventory_specsize", "(SELECT s.state FROM inventory_spec s WHERE s.id = OLD.spec_id)"),
]


def add_guards(apps, schema_editor):
    add = {"sqlite": _add_on_sqlite, "postgresql": _add_on_postgresql}[schema_editor.connection.vendor]
    add(schema_editor)


def remove_guards(apps, schema_editor):
    for table, *_ in [*APPEND_ONLY, *FROZEN]:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_guard ON {table}")
        else:
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_guard")
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS measuring_room_refuse() CASCADE")


def _columns(schema_editor, table):
    with schema_editor.connection.cursor() as cursor:
        return [column.name for column in schema_editor.connection.introspection.get_table_description(cursor, table)]


def _add_on_sqlite(schema_editor):
    for table, changeable, name in APPEND_ONLY:
        fixed = ", ".join(f'"{column}"' for column in _columns(schema_editor, table) if column not in changeable)
        schema_editor.execute(
            f"CREATE TRIGGER {table}_guard BEFORE UPDATE OF {fixed} ON {table} BEGIN SELECT RAISE(ABORT, '{name}'); END"
        )
    for table, state in FROZEN:
        schema_editor.execute(
            f"CREATE TRIGGER {table}_guard BEFORE UPDATE ON {table} WHEN {state} <> 'draft' "
            "BEGIN SELECT RAISE(ABORT, 'specs_are_frozen_once_in_force'); END"
        )


def _add_on_postgresql(schema_editor):
    schema_editor.execute(
        "CREATE FUNCTION measuring_room_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation'; END $$",
        params=None,  # or the driver would take the percent sign for a placeholder
    )
    for table, changeable, name in APPEND_ONLY:
        fixed = ", ".join(f'"{column}"' for column in _columns(schema_editor, table) if column not in changeable)
        schema_editor.execute(
            f"CREATE TRIGGER {table}_guard BEFORE UPDATE OF {fixed} ON {table} FOR EACH ROW "
            f"EXECUTE FUNCTION measuring_room_refuse('{name}')"
        )
    # PostgreSQL allows no subquery in a trigger's WHEN, so the function looks the state up itself.
    for table, state in FROZEN:
        schema_editor.execute(
            f"CREATE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            f"IF {state} <> 'draft' THEN RAISE EXCEPTION 'specs_are_frozen_once_in_force' "
            "USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$"
        )
        schema_editor.execute(
            f"CREATE TRIGGER {table}_guard BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()"
        )


class Migration(migrations.Migration):
    dependencies = [("inventory", "0001_initial")]

    operations = [migrations.RunPython(add_guards, remove_guards)]
