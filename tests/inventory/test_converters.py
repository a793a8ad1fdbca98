"""Labels in addresses."""

import pytest
from django.http import HttpRequest, HttpResponse
from django.urls import NoReverseMatch, Resolver404, path
from django.urls.resolvers import RegexPattern, URLResolver

from inventory.converters import BatchConverter, DeliveryConverter, LabelConverter, PieceConverter


def _view(_request: HttpRequest) -> HttpResponse:
    raise AssertionError("only resolved, never called")


RESOLVER = URLResolver(
    RegexPattern(r"^/"),
    [
        path("pieces/<piece:number>/", _view, name="a-piece"),
        path("batches/<batch:number>/", _view, name="a-batch"),
        path("deliveries/<delivery:number>/", _view, name="a-delivery"),
    ],
)


@pytest.mark.parametrize(
    ("address", "number"),
    [
        ("/pieces/P000123/", 123),
        ("/pieces/p123/", 123),
        ("/pieces/P1234567/", 1_234_567),
        ("/batches/B0012/", 12),
        ("/batches/b12/", 12),
        ("/deliveries/D0007/", 7),
    ],
)
def test_a_label_is_read_in_any_case_and_with_any_number_of_noughts(address: str, number: int) -> None:
    assert RESOLVER.resolve(address).kwargs == {"number": number}


@pytest.mark.parametrize("address", ["/pieces/B000123/", "/pieces/123/", "/pieces/P12x/", "/pieces/P/"])
def test_what_is_no_label_of_the_kind_has_no_page(address: str) -> None:
    with pytest.raises(Resolver404):
        RESOLVER.resolve(address)


@pytest.mark.parametrize(
    ("converter", "number", "label"),
    [
        (PieceConverter(), 123, "P000123"),
        (BatchConverter(), 12, "B0012"),
        (DeliveryConverter(), 7, "D0007"),
        (PieceConverter(), 12_345_678, "P12345678"),
    ],
)
def test_an_address_is_made_from_the_number_or_from_the_label(
    converter: LabelConverter, number: int, label: str
) -> None:
    assert converter.to_url(number) == label
    assert converter.to_url(label.lower()) == label


def test_an_address_is_not_made_from_the_label_of_something_else() -> None:
    with pytest.raises(ValueError, match="'B0012' is no label of the form P000012"):
        PieceConverter().to_url("B0012")
    with pytest.raises(NoReverseMatch):
        RESOLVER.reverse("a-piece", number="B0012")
