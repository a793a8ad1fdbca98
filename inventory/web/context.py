"""What every page needs to know: the shop, how it shows lengths, who is signed in, where one can go."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.utils.functional import SimpleLazyObject

from inventory.models import Shop, User
from inventory.web import navigation

if TYPE_CHECKING:
    from django.http import HttpRequest

    from inventory.calc.length import Display

_UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}


def shop(request: HttpRequest) -> dict[str, Any]:  # Any: Django's own shape of a context
    """Context processor: the shop, its display, the person's role, navigation, fixed addresses.

    Gives `shop`, `home_url`, `sign_out_url`; to the signed-in also `display`, `display_words`, `role`, `nav`
    and `account_nav`. The shop is fetched at most once a request, and only when a template asks for it.
    """
    current: Any = SimpleLazyObject(Shop.objects.current)  # Any: a stand-in for a Shop

    def display() -> Display:
        shown: Display = current.as_display()
        return shown

    context: dict[str, Any] = {
        "shop": current,
        "home_url": navigation.url_or_none("home") or "/",
        "sign_out_url": navigation.url_or_none("sign-out"),
    }
    user = getattr(request, "user", None)  # absent when a page fails before the sign-in is looked up
    if not isinstance(user, User):
        return context
    return context | {
        "display": SimpleLazyObject(display),
        "display_words": SimpleLazyObject(lambda: in_words(display())),
        "role": user.get_role_display().lower(),
        "nav": SimpleLazyObject(lambda: navigation.main_entries(request)),
        "account_nav": SimpleLazyObject(lambda: navigation.account_entries(request)),
    }


def in_words(display: Display) -> str:
    """How lengths are shown, as a person would say it.

    >>> from inventory.calc.length import Display, Unit
    >>> in_words(Display(Unit.INCH, 8)), in_words(Display(Unit.MM))
    ('inches, rounded to 1/8 where no tape has the mark', 'millimetres')
    """
    words = _UNIT_WORDS[display.unit]
    if display.denominator is None:
        return words
    return f"{words}, rounded to 1/{display.denominator} where no tape has the mark"
