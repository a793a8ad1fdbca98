"""What is agreed on sampling: for the shop, for a maker, for a maker and a style; and how that changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from inventory.access import Deed
from inventory.queries import makers as ask_makers
from inventory.queries.sampling import schemes as ask
from inventory.queries.sampling.history import styles_from
from inventory.queries.styles import style_by_code
from inventory.services.sampling.schemes import set_scheme
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.sampling.forms import SchemeForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Maker, Style


def shop_sampling(request: HttpRequest) -> HttpResponse:
    """What holds where nothing is agreed with a maker, and what held before."""
    allowed(request, Deed.VIEW)
    every = list(ask.schemes_set_for(None, None))
    context = {"now": every[0] if every else None, "before": every[1:], "may_set_up": may_set_up(request)}
    return render(request, "inventory/sampling/shop.html", context)


def shop_sampling_set(request: HttpRequest) -> HttpResponse:
    """Set how the shop samples where nothing else is agreed."""
    return _set(request, None, None)


def maker_sampling(request: HttpRequest, code: str) -> HttpResponse:
    """What is agreed with a maker, and for which styles something else."""
    allowed(request, Deed.VIEW)
    maker = found(ask_makers.maker_by_code(code), f"maker {code}")
    every = list(ask.schemes_set_for(maker, None))
    context = {
        "maker": maker,
        "now": every[0] if every else None,
        "before": every[1:],
        "shop_scheme": ask.schemes_set_for(None, None).first(),
        "styles": styles_from(maker),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/sampling/maker.html", context)


def maker_sampling_set(request: HttpRequest, code: str) -> HttpResponse:
    """Agree with a maker for all its styles."""
    return _set(request, code, None)


def style_sampling_set(request: HttpRequest, code: str, style: str) -> HttpResponse:
    """Agree with a maker for one style."""
    return _set(request, code, style)


def _set(request: HttpRequest, code: str | None, style_code: str | None) -> HttpResponse:
    person = allowed(request, Deed.SET_UP)
    maker = None if code is None else found(ask_makers.maker_by_code(code), f"maker {code}")
    style = None if style_code is None else found(style_by_code(style_code), f"style {style_code}")
    held = ask.schemes_set_for(maker, style).first()
    form = SchemeForm(typed_in(request), row=held, style=style)
    if request.method == "POST" and form.is_valid():
        values: dict[str, Any] = dict(form.cleaned_data)  # Any: values of every type
        made = attempt(
            form,
            lambda: set_scheme(maker=maker, style=style, by=person, at=timezone.now(), **values),
        )
        if made is not None:
            messages.success(request, "Agreed: it holds for the samples drawn from now on.")
            return redirect(_back(maker, style))
    context = {"form": form, "maker": maker, "style": style, "back": _back(maker, style), "held": held}
    return render(request, "inventory/sampling/set.html", context)


def _back(maker: Maker | None, style: Style | None) -> str:
    if maker is None:
        return reverse("shop-sampling")
    if style is None:
        return reverse("maker-sampling", args=[maker.code])
    return reverse("style-sampling", args=[maker.code, style.code])
