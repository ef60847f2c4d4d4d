"""Reading device classes: what is right is read, and every mistake is named by line and key."""

import random
from importlib.resources import files
from pathlib import Path

import pytest

from data.catalogue.reader import class_from_text, class_names, find_class, read_class
from pricing.errors import BadInput, NotFound, Problem, counted
from pricing.records.grade import GradeRule
from pricing.records.priors import FaultPrior

MINIMAL = """\
[class]
name = "kettle"

[[attribute]]
name = "brand"
kind = "group"

[[attribute]]
name = "litres"
kind = "number"
"""
FUNCTION = MINIMAL + '[[function]]\nname = "lid"\n'
SURFACE = MINIMAL + '[[surface]]\nname = "lid"\n'
PART = MINIMAL + '[[part]]\nname = "lid"\n'
SAID = MINIMAL + '[[combination]]\nsay = "x"\n'
UPSIDE_DOWN = """\
[grade]
steps = [
    { grade = "C", marks = 9, longest_mm = 9, at_arms_length = 9, words = "c" },
    { grade = "A", marks = 1, longest_mm = 1, at_arms_length = 0, words = "a" },
]
"""
MISSPELT_MARK = """\
[[grade.steps]]
grade = "A"
marks = 1
longest_mm = 1
at_arms_length = 0
words = "a"
never = ["crak"]
"""


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(BadInput) as raised:
        class_from_text(text, "kettle.toml")
    assert str(raised.value).startswith(f"kettle.toml: {counted(len(raised.value.problems), 'problem')}; first: ")
    return raised.value.problems


def test_a_file_with_a_name_and_attributes_is_enough():
    kettle = class_from_text(MINIMAL, "kettle.toml")
    assert kettle.name == kettle.title == "kettle"
    assert [(a.name, a.kind) for a in kettle.attributes] == [("brand", "group"), ("litres", "number")]
    assert kettle.functions == ()
    assert kettle.grade_rule == GradeRule()
    assert kettle.fault_prior == FaultPrior()


BAD = {
    "an empty file": ("", None, None),
    "only blanks": (" \n\n", None, None),
    "no class": ('[[attribute]]\nname = "x"\nkind = "number"\n', None, "class.name"),
    "no name": ('\n[class]\ntitle = "x"\n', 2, "class.name"),
    "an empty name": ('[class]\nname = " "\n', 2, "class.name"),
    "a name that is a number": ("[class]\nname = 3\n", 2, "class.name"),
    "an unknown key of the class": ('[class]\nname = "x"\ntitel = "X"\n', 3, "class.titel"),
    "an unknown table": (MINIMAL + "\n[[functions]]\n", 12, "functions"),
    "a table for an array": (MINIMAL + '\n[function]\nname = "x"\n', 12, "function"),
    "broken syntax": ('[class]\nname = "x\n', 2, None),
    "an open bracket": (MINIMAL + "x = [1,\n", 11, None),
    "a wrong kind": ('[class]\nname = "x"\n[[attribute]]\nname = "a"\nkind = "text"\n', 5, "attribute.kind"),
    "a missing kind": ('[class]\nname = "x"\n[[attribute]]\nname = "a"\n', 3, "attribute.kind"),
    "a contract column": (MINIMAL.replace("litres", "price"), 9, "attribute.name"),
    "a contract prefix": (MINIMAL.replace("litres", "fault:lid"), 9, "attribute.name"),
    "a name twice": (MINIMAL.replace("litres", "brand"), 9, "attribute.name"),
    "a unit of a group": (MINIMAL.replace('"group"\n', '"group"\nunit = "l"\n'), 7, "attribute.unit"),
    "options of a number": (MINIMAL + 'options = ["1"]\n', 11, "attribute.options"),
    "within nothing": (MINIMAL.replace('"group"\n', '"group"\nwithin = "x"\n'), 7, "attribute.within"),
    "a number within": (MINIMAL + 'within = "brand"\n', 11, "attribute.within"),
    "within itself": (MINIMAL.replace('"group"\n', '"group"\nwithin = "brand"\n'), 7, "attribute.within"),
    "weight as text": (FUNCTION + 'weight = "3"\n', 13, "function.weight"),
    "a yes for true": (FUNCTION + 'gate = "yes"\n', 13, "function.gate"),
    "text for a list": (FUNCTION + 'symptoms = "x"\n', 13, "function.symptoms"),
    "negative minutes": (FUNCTION + 'minutes = -1\n', 13, "function.minutes"),
    "endless minutes": (FUNCTION + 'minutes = inf\n', 13, "function.minutes"),
    "an unknown status": (FUNCTION + '[function.consequence]\nbad = "x"\n', 14, "function.consequence.bad"),
    "a dotted status": (FUNCTION + 'consequence.bad = "x"\n', 13, "function.consequence.bad"),
    "an unknown requirement": (FUNCTION + 'requires = ["on"]\n', 13, "function.requires"),
    "a requirement of itself": (FUNCTION + 'requires = ["lid"]\n', 13, "function.requires"),
    "fitted by nothing": (
        FUNCTION + 'fitted_if = { steel = ["yes"] }\n', 13, "function.fitted_if.steel",
    ),
    "a part's unknown function": (PART + 'touches = ["on"]\n', 13, "part.touches"),
    "a part's unknown harm": (PART + 'harm = ["on"]\n', 13, "part.harm"),
    "a surface of no function": (SURFACE + 'function = "b"\n', 13, "surface.function"),
    "no conditions": (SAID + 'when = []\n', 13, "combination.when"),
    "an unknown condition": (SAID + 'when = ["hot"]\n', 13, "combination.when"),
    "a function that is not": (
        SAID + 'when = ["function:on=dead"]\n', 13, "combination.when",
    ),
    "a state that is not": (
        SAID + 'when = ["opened=maybe"]\n', 13, "combination.when",
    ),
    "like nobody": ('[class]\nname = "x"\nlike = "spaceship"\n', 3, "class.like"),
    "like itself": ('[class]\nname = "phone"\nlike = "phone"\n', 3, "class.like"),
    "grade steps upside down": (MINIMAL + UPSIDE_DOWN, 12, "grade.steps.grade"),
    "a grade twice": (MINIMAL + UPSIDE_DOWN.replace('"A"', '"C"'), 12, "grade.steps.grade"),
    "an unknown mark in a step": (MINIMAL + MISSPELT_MARK, 17, "grade.steps.never"),
    "a fault that raises": (MINIMAL + "[prior.marks.dent]\nmean_log = 0.1\n", 12, "prior.marks.dent.mean_log"),
    "an unknown weight": (MINIMAL + "[prior.weights.4]\n", 11, "prior.weights.4"),
    "an unknown prior": (MINIMAL + "[prior]\nown_shares = 0.5\n", 12, "prior.own_shares"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_mistake_is_named_by_line_and_key(case):
    text, line, column = BAD[case]
    problems = problems_of(text)
    assert [(p.source, p.line, p.column) for p in problems] == [("kettle.toml", line, column)]
    assert problems[0].found
    assert problems[0].expected


def test_all_mistakes_are_named_at_once_in_the_order_of_the_file():
    text = MINIMAL.replace("number", "nmber") + (
        '[[function]]\nname = "lid"\nwieght = 3\n[[function]]\nname = "lid"\nminutes = "1"\n'
        '[[part]]\nname = "base"\ntouches = ["lid", "spout"]\n'
    )
    problems = problems_of(text)
    assert [(p.line, p.column) for p in problems] == [
        (10, "attribute.kind"),
        (13, "function.wieght"),
        (15, "function.name"),
        (16, "function.minutes"),
        (19, "part.touches"),
    ]
    assert problems[1].expected.endswith("(perhaps weight?)")
    assert problems[4].found == '"spout"'


def test_values_nested_beyond_reason_are_refused_without_a_traceback():
    assert "nested" in problems_of("a = " + "[" * 100_000)[0].found


def test_a_number_with_more_digits_than_can_be_read_is_refused():
    assert "too long" in problems_of("a = " + "9" * 5000)[0].found


def test_a_class_says_what_its_goods_do_not_have():
    text = '[class]\nname = "stand"\nwithout = {}\n'
    assert class_from_text(text.format('["stored data"]'), "stand.toml").without == ("stored data",)
    with pytest.raises(BadInput) as refused:
        class_from_text(text.format('["legs"]'), "stand.toml")
    assert [(problem.line, problem.column) for problem in refused.value.problems] == [(3, "class.without")]


def test_grade_and_prior_change_only_what_they_state():
    text = MINIMAL + (
        '[grade]\nwords_d = "ugly"\n[prior.marks]\nburn = { mean_log = -0.2, sd_log = 0.1 }\n'
        "[prior.weights.3]\ndead = { mean_log = -0.9, sd_log = 0.2 }\n"
    )
    kettle = class_from_text(text, "kettle.toml")
    assert kettle.grade_rule == GradeRule(words_d="ugly")
    assert set(kettle.fault_prior.marks) == {*FaultPrior().marks, "burn"}
    assert kettle.fault_prior.weights["3"]["dead"].mean_log == -0.9
    assert kettle.fault_prior.weights["3"]["impaired"] == FaultPrior().weights["3"]["impaired"]


def test_a_new_kind_of_mark_may_be_used_in_grades_and_combinations():
    text = MINIMAL + (
        '[[surface]]\nname = "base"\n[[combination]]\nsay = "Burnt."\nwhen = ["mark:base=burn|crack"]\n'
        "[prior.marks]\nburn = { mean_log = -0.2, sd_log = 0.1 }\n"
    )
    assert class_from_text(text, "kettle.toml").combinations[0].say == "Burnt."


def test_an_own_row_changes_only_the_keys_of_the_inherited_row_that_it_states():
    text = (
        '[class]\nname = "watch"\nlike = "phone"\n[[function]]\nname = "nfc"\nweight = 1\n'
        'consequence.impaired = "Slow."\n[[function]]\nname = "strap"\n'
    )
    watch, phone = class_from_text(text, "watch.toml"), find_class("phone")
    inherited, own = phone.functions_by_name["nfc"], watch.functions_by_name["nfc"]
    assert (own.weight, own.consequence.impaired) == (1, "Slow.")
    assert (own.kin, own.consequence.dead) == (inherited.kin, inherited.consequence.dead)
    assert [f.name for f in watch.functions] == [*(f.name for f in phone.functions), "strap"]
    assert watch.attributes == ()
    assert watch.combinations == phone.combinations


def test_an_own_fitted_if_takes_the_place_of_the_inherited_one():
    text = (
        '[class]\nname = "pinhole"\nlike = "camera"\n[[attribute]]\nname = "lens"\nkind = "choice"\n'
        '[[attribute]]\nname = "edition"\nkind = "choice"\n'
        '[[function]]\nname = "lens_optics"\nfitted_if = { edition = ["glass"] }\n'
    )
    optics = class_from_text(text, "pinhole.toml").functions_by_name["lens_optics"]
    assert optics.fitted_if == {"edition": ("glass",)}


def test_an_inherited_row_that_needs_an_attribute_is_reported_at_the_key_like():
    problems = problems_of('[class]\nname = "pinhole"\nlike = "camera"\n')
    assert {(problem.line, problem.found) for problem in problems} == {(3, '"lens"')}


def test_a_user_file_is_found_before_the_class_that_comes_along(tmp_path):
    (tmp_path / "phone.toml").write_text('[class]\nname = "phone"\ntitle = "Own phone"\n')
    (tmp_path / "kettle.toml").write_text(MINIMAL)
    assert find_class("phone", tmp_path).title == "Own phone"
    assert find_class("phone").title == "Phone"
    assert find_class("laptop", tmp_path) == find_class("laptop")
    assert set(class_names(tmp_path)) == {*class_names(), "kettle"}


def test_a_class_that_is_not_there_is_answered_with_those_that_are(tmp_path):
    (tmp_path / "kettle.toml").write_text(MINIMAL)
    with pytest.raises(NotFound, match=r'"toaster"; there are: camera, console, kettle, laptop'):
        find_class("toaster", tmp_path)


@pytest.mark.parametrize("name", ["../phone", "phone.toml", "", "/etc/passwd", "pho\0ne"])
def test_a_name_never_leads_out_of_the_folder(name, tmp_path):
    with pytest.raises(NotFound):
        find_class(name, tmp_path)


def test_a_folder_that_is_not_there_leaves_the_classes_that_come_along(tmp_path):
    assert class_names(tmp_path / "nowhere") == class_names()
    assert find_class("lens", tmp_path / "nowhere").name == "lens"


def test_a_user_file_must_be_called_as_its_class(tmp_path):
    (tmp_path / "pot.toml").write_text("# mine\n" + MINIMAL)
    with pytest.raises(BadInput) as raised:
        find_class("pot", tmp_path)
    assert (raised.value.problems[0].line, raised.value.problems[0].column) == (3, "class.name")


def test_a_file_that_is_not_there_is_not_found(tmp_path):
    with pytest.raises(NotFound, match=r"no file .*kettle\.toml"):
        read_class(tmp_path / "kettle.toml")


def test_a_folder_is_no_class_file(tmp_path):
    with pytest.raises(BadInput, match="directory"):
        read_class(tmp_path)


def test_a_file_name_with_a_zero_byte_is_refused():
    with pytest.raises(BadInput, match="no file can have"):
        read_class(Path("a\0b.toml"))


def test_a_file_that_is_not_utf_8_names_the_line_and_the_byte(tmp_path):
    path = tmp_path / "kettle.toml"
    path.write_bytes('[class]\nname = "Küche"\n'.encode("cp1252"))
    with pytest.raises(BadInput) as raised:
        read_class(path)
    problem = raised.value.problems[0]
    assert (problem.line, problem.found, problem.expected) == (2, "byte 0xFC", "text in UTF-8")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path):
    path = tmp_path / "kettle.toml"
    path.write_bytes(b"\xef\xbb\xbf" + MINIMAL.replace("\n", "\r\n").encode())
    assert read_class(path) == class_from_text(MINIMAL, "kettle.toml")


def test_a_class_survives_the_way_through_json():
    phone = find_class("phone")
    assert type(phone).model_validate_json(phone.model_dump_json()) == phone


ODD_VALUES = ("3", "-1", "true", "[]", "{}", '""', "[1]", '[["a"]]', "{ a = 1 }", "nan", "2026-01-01", "1e400")


def damaged(lines: list[str], chance: random.Random) -> str:
    """Return the text with one line lost, one repeated elsewhere and one value changed to an odd one."""
    text = list(lines)
    del text[chance.randrange(len(text))]
    text.insert(chance.randrange(len(text)), chance.choice(text))
    place = chance.randrange(len(text))
    text[place] = text[place].partition("=")[0] + "= " + chance.choice(ODD_VALUES)
    return "\n".join(text)


def test_a_damaged_file_is_read_or_refused_with_its_problems_and_nothing_else():
    lines = (files("data.catalogue.classes") / "console.toml").read_text("utf-8").split("\n")
    chance = random.Random(5)
    refused = []
    for _ in range(100):
        try:
            class_from_text(damaged(lines, chance), "console.toml")
        except BadInput as error:
            refused.append(error)
    assert len(refused) >= 50
    assert all(error.problems for error in refused)
