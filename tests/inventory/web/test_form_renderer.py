"""Forms as they reach the page: every control has a label, its help and its errors tied to it."""

from __future__ import annotations

from html.parser import HTMLParser

from django import forms


class Parcel(forms.Form):
    name = forms.CharField(help_text="As it stands on the parcel.")
    note = forms.CharField(required=False, widget=forms.Textarea)
    basis = forms.ChoiceField(
        choices=[("half", "each half"), ("full", "the full girth")], widget=forms.RadioSelect
    )
    counted = forms.BooleanField(label="I have counted the cartons", help_text="All of them.")
    sheet = forms.FileField(required=False)
    key = forms.CharField(widget=forms.HiddenInput)

    def clean(self) -> None:
        raise forms.ValidationError("Revision 2 is superseded. Name revision 3.")


class Tree(HTMLParser):
    """All tags with their attributes, in the order of the page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def all(self, *names: str) -> list[dict[str, str]]:
        return [attributes for tag, attributes in self.tags if tag in names]

    @property
    def ids(self) -> list[str]:
        return [attributes["id"] for _, attributes in self.tags if "id" in attributes]


def empty() -> Tree:
    return Tree(str(Parcel()))


def wrong() -> Tree:
    return Tree(str(Parcel({"key": "k"})))


def test_every_control_has_a_label_of_its_own() -> None:
    labelled = {label["for"] for label in empty().all("label")}
    for control in empty().all("input", "select", "textarea"):
        assert control.get("type") == "hidden" or control["id"] in labelled


def test_no_id_appears_twice() -> None:
    for tree in (empty(), wrong()):
        assert len(tree.ids) == len(set(tree.ids))


def test_help_and_errors_are_described_by_ids_that_exist() -> None:
    tree = wrong()
    described = {
        attributes["id"]: attributes["aria-describedby"].split()
        for _, attributes in tree.tags
        if "aria-describedby" in attributes
    }
    assert described["id_name"] == ["id_name_helptext", "id_name_error"]
    assert described["id_basis_group"] == ["id_basis_error"]
    assert described["id_counted"] == ["id_counted_helptext", "id_counted_error"]
    assert {name for names in described.values() for name in names} <= set(tree.ids)


def test_a_group_of_choices_is_a_fieldset_with_a_legend() -> None:
    tree = empty()
    assert [fieldset["id"] for fieldset in tree.all("fieldset")] == ["id_basis_group"]
    assert len(tree.all("legend")) == 1


def test_the_summary_at_the_top_is_announced_and_leads_to_each_wrong_field() -> None:
    tree = wrong()
    assert tree.tags[0][1]["role"] == "alert"
    targets = [link["href"].removeprefix("#") for link in tree.all("a")]
    assert targets == ["id_name", "id_basis_group", "id_counted"]
    assert set(targets) <= set(tree.ids)


def test_the_summary_says_what_is_wrong_with_the_whole() -> None:
    html = str(Parcel({"key": "k"}))
    assert html.count("Revision 2 is superseded.") == 1
    assert "4 entries need another look" in html


def test_an_error_in_a_hidden_field_is_said_and_not_swallowed() -> None:
    html = str(Parcel({"name": "n", "basis": "half", "counted": "on"}))
    assert "Key: This field is required." in html


def test_a_form_that_is_not_sent_yet_has_no_summary() -> None:
    assert "error-summary" not in str(Parcel())


def test_what_may_stay_empty_is_marked_in_words() -> None:
    html = str(Parcel())
    assert html.count("(optional)") == 2


def test_a_file_is_asked_for_in_a_drop_box() -> None:
    assert '<div class="drop-box"><input type="file"' in str(Parcel())


def test_what_was_typed_comes_back_escaped() -> None:
    html = str(Parcel({"name": '"><script>alert(1)</script>'}))
    assert "<script" not in html
