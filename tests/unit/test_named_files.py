from __future__ import annotations

import pytest

from data.catalogue.named_files import NamedFiles, packaged_names
from pricing.errors import BadInput, NotFound

CLASSES = "data.catalogue.classes"


def files_of(line_of=None):
    """Texts whose first word is the name that they state."""
    return NamedFiles(
        package=CLASSES,
        none="no thing",
        place="thing.name",
        name_of=lambda text: text.split()[0],
        from_text=lambda text, source: f"{source} {len(text)}",
        read=lambda path: path.read_text(),
        line_of=line_of,
    )


def test_own_files_stand_beside_those_that_come_along(tmp_path):
    (tmp_path / "kettle.toml").write_text("kettle")
    (tmp_path / "kettle.txt").write_text("no thing")
    assert files_of().names(tmp_path) == tuple(sorted((*packaged_names(CLASSES), "kettle")))
    assert files_of().names(None) == files_of().names(tmp_path / "none") == packaged_names(CLASSES)


def test_an_own_file_goes_before_one_that_comes_along(tmp_path):
    assert files_of().find("phone", tmp_path).startswith("phone.toml ")
    (tmp_path / "phone.toml").write_text("phone of my own")
    assert files_of().find("phone", tmp_path) == "phone of my own"


def test_one_that_comes_along_is_read_once():
    files = files_of()
    assert files.come_along("phone") is files.come_along("phone")


def test_what_is_not_there_is_told_as_it_was_asked_for():
    with pytest.raises(NotFound, match=r'^no thing "Kettle"; there are: camera, '):
        files_of().find("kettle", None, asked="Kettle")


@pytest.mark.parametrize(("line_of", "place"), [(None, "kettle.toml, thing.name"), (lambda _: 7, "line 7, thing.name")])
def test_a_file_that_states_another_name_is_refused(tmp_path, line_of, place):
    (tmp_path / "kettle.toml").write_text("lamp")
    with pytest.raises(BadInput, match=f'{place}: found "lamp"; expected "kettle", as the file is called'):
        files_of(line_of).find("kettle", tmp_path)
