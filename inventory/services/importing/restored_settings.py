"""People, rules and the shop's choices of an export: written beside what a shop has from its first day."""

from __future__ import annotations

from django.utils import timezone

from inventory.models import DecisionRule, Shop, User
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.restored_rows import Rows
from inventory.services.importing.restored_tables import Key, Keys, is_field, said_key


def write_people(rows: Rows) -> dict[Key, int]:
    """Everybody of the export; who has the same user name here stays as they are, but for empty names."""
    known: dict[Key, int] = {}
    for row in rows:
        person = User.objects.filter(username=row["username"]).first()
        if person is None:
            person = User(date_joined=timezone.now(), **row)
            person.set_unusable_password()
        else:
            for name in ("first_name", "last_name", "email"):
                setattr(person, name, getattr(person, name) or row[name])
        person.save()
        known[(row["username"],)] = person.pk
    return known


def write_rules(rows: Rows) -> dict[Key, int]:
    """Every decision rule; one that says something else here is refused."""
    known = {}
    for row in rows:
        rule, created = DecisionRule.objects.get_or_create(
            code=row["code"], version=row["version"], defaults=row
        )
        if not created and any(getattr(rule, name) != value for name, value in row.items() if name != "name"):
            raise FileNotReadable(
                f"Rule {row['code']}, version {row['version']}, says something else here than in the "
                "export. Rules "
                "are never overwritten; restore into a shop that has just been set up."
            )
        known[row["code"], row["version"]] = rule.pk
    return known


def write_shop(rows: Rows, keys: Keys) -> dict[Key, int]:
    """The shop's own choices, with the rules it judges by."""
    if len(rows) != 1:
        raise FileNotReadable(f"The export holds {len(rows)} shops; one is expected.")
    (row,) = rows
    shop = Shop.objects.get(pk=Shop.ONLY)
    for name, value in row.items():
        if is_field(Shop, name):
            setattr(shop, name, value)
    for name in ("shelf_rule", "claim_rule"):
        key = (row[name], row[f"{name}_version"])
        if key not in keys["rules"]:
            raise FileNotReadable(f"The shop judges by rule {said_key(key)}, which the export does not hold.")
        setattr(shop, f"{name}_id", keys["rules"][key])
    shop.save()
    return {(shop.name,): shop.pk}
