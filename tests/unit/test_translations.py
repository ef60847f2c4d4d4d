"""The tool that keeps the catalogues up to date: it adds, never loses, and marks what has to be looked at."""

from __future__ import annotations

from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from listing_templates.catalogues import CLASSES, SENTENCES, texts_of, translated_tags
from tests.translations import FOLDER, class_template, refresh, sentence_template, write


def template(**patterns: str | tuple[str, str]) -> Catalog:
    made = Catalog(fuzzy=False)
    for name, pattern in patterns.items():
        made.add(pattern, context=f"sentence.{name}")
    return made


def filled(path: Path, context: str, text: str | tuple[str, str]) -> None:
    catalogue = read(path)
    for message in catalogue:
        if message.context == context:
            message.string = text
    write(path, catalogue)


def read(path: Path) -> Catalog:
    with path.open("rb") as opened:
        return read_po(opened, locale="fr")


def message(path: Path, context: str):
    return next(found for found in read(path) if found.context == context)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "sentences.po"
    refresh(path, template(one="One.", two=("{count} two.", "{count} twos.")), "fr")
    filled(path, "sentence.one", "Un.")
    filled(path, "sentence.two", ("{count} deux.", "{count} deux."))
    return path


def test_a_new_entry_is_added_and_what_was_translated_stays(path: Path) -> None:
    refresh(path, template(zero="Zero.", one="One.", two=("{count} two.", "{count} twos.")), "fr")
    assert texts_of(message(path, "sentence.zero")) == ()
    assert texts_of(message(path, "sentence.one")) == ("Un.",)
    assert texts_of(message(path, "sentence.two")) == ("{count} deux.", "{count} deux.")


def test_a_changed_sentence_keeps_its_old_translation_marked_to_be_looked_at(path: Path) -> None:
    refresh(path, template(one="One, changed.", two=("{count} two.", "{count} twos.")), "fr")
    changed = message(path, "sentence.one")
    assert (changed.string, changed.fuzzy, texts_of(changed)) == ("Un.", True, ())


def test_a_sentence_that_begins_to_count_loses_no_text_to_the_wrong_form(path: Path) -> None:
    refresh(path, template(one=("One.", "{count} ones."), two="Two."), "fr")
    assert texts_of(message(path, "sentence.one")) == texts_of(message(path, "sentence.two")) == ()


def test_what_is_no_longer_used_stays_in_the_file_as_a_comment(path: Path) -> None:
    refresh(path, template(two=("{count} two.", "{count} twos.")), "fr")
    assert [found.context for found in read(path) if found.id] == ["sentence.two"]
    assert "#~ msgstr \"Un.\"" in path.read_text(encoding="utf-8")


def test_a_second_run_changes_nothing(path: Path) -> None:
    same = template(one="One.", two=("{count} two.", "{count} twos."))
    before = path.read_bytes()
    refresh(path, same, "fr")
    assert path.read_bytes() == before


@pytest.mark.parametrize(("name", "made"), [(SENTENCES, sentence_template), (CLASSES, class_template)])
def test_the_templates_and_catalogues_hold_all_texts_that_there_are(name: str, made) -> None:
    wanted = {(found.context, found.id) for found in made() if found.id}
    assert len(wanted) > 100
    for path in (FOLDER / f"{name}t", *(FOLDER / tag / name for tag in translated_tags())):
        found = {(entry.context, entry.id) for entry in read(path) if entry.id}
        assert found == wanted, f"{path.name}: run python -m tests.translations"
