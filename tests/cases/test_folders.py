"""A catalogue of several files: what opens it, what is refused, and the same as in one file.

What is wrong inside its files is among the cases of ``tests/cases/bad``; here is what no folder in
version control can hold, and what only comparing shows.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import os
import pickle
import shutil
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from configurator import Catalogue, CatalogueError, FileError, Shop, open_shop, to_json
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import MOST_BYTES, open_catalogue, parse_catalogue, shipped
from configurator.render.html import paper_html
from configurator.render.look import look_of
from configurator.shapes.shipped import linked, schema
from configurator.web import crew
from configurator.web.messages import Posting, for_sellers
from tests.support.commands import Run
from tests.support.paths import CASES
from tests.support.shipped import shipped_in_one

DAY = dt.date(2026, 8, 3)
FOLDER = shipped("catalogues")
PARTS = sorted((FOLDER / "quandong").iterdir())


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small catalogue of three files, from within whose parent commands are run."""
    made = tmp_path / "yard"
    shutil.copytree(CASES / "bad" / "part-unnamed", made)
    for name in ("finish.yaml", "expected.txt"):
        (made / name).unlink()
    monkeypatch.chdir(tmp_path)
    return made


def told(path: Path | str) -> list[str]:
    catalogue, problems = open_catalogue(path)
    assert (catalogue is None) == bool(problems)
    return [str(problem).replace("\n    ", " ") for problem in problems]


def test_a_folder_is_opened_by_its_own_name_or_by_that_of_the_file_in_it(
    folder: Path, run: Run
) -> None:
    assert told("yard") == told(folder / "catalogue.yaml") == []
    ran = run("catalogue", "check", "yard")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("yard/catalogue.yaml: no problems found: 1 vehicle, 1 choice, ")
    assert open_shop("yard", DAY).catalogue == open_shop(folder, DAY).catalogue


@pytest.mark.parametrize("inside", [(), ("vehicles.yaml",)])
def test_a_folder_that_nothing_opens_is_told_as_such(
    inside: tuple[str, ...], folder: Path, run: Run
) -> None:
    for file in folder.iterdir():
        if file.name not in inside:
            file.unlink()
    ran = run("price", "touring.yaml", "--catalogue", "yard")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err == (
        "yard: this folder has no catalogue.yaml, the file that opens a catalogue; name another "
        "folder or file, or start a catalogue with: configurator catalogue new yard\n"
    )


def test_a_part_that_cannot_be_read_is_named(folder: Path) -> None:
    part = folder / "canopy.yaml"
    for content, said in (
        (b"\xff\xfe", "it is not UTF-8 text (byte 0); save it as UTF-8"),
        (
            b"#" * (MOST_BYTES + 1),
            "cannot read it: it has more than 10 MB; check that this is the right file",
        ),
    ):
        part.write_bytes(content)
        with pytest.raises(FileError) as caught:
            open_catalogue("yard")
        assert str(caught.value) == f"yard/canopy.yaml: {said}"


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is closed to root")
def test_a_part_that_may_not_be_read_is_named(folder: Path) -> None:
    (folder / "canopy.yaml").chmod(0)
    with pytest.raises(
        FileError,
        match=r"^yard/canopy\.yaml: cannot read it: Permission denied; ask who may read it$",
    ):
        open_catalogue("yard")


def test_all_parts_together_are_bounded(folder: Path) -> None:
    for name in ("vehicles.yaml", "canopy.yaml"):
        with (folder / name).open("a") as part:
            part.write("#" * (MOST_BYTES * 2 // 3) + "\n")
    with pytest.raises(FileError, match=r"^yard/canopy\.yaml: the parts of the catalogue have "):
        open_catalogue("yard")


def test_a_link_may_lead_to_a_part_only_within_the_folder(folder: Path) -> None:
    part, outside = folder / "canopy.yaml", folder.parent / "elsewhere.yaml"
    part.rename(outside)
    part.symlink_to(outside)
    assert told("yard") == [
        'yard/catalogue.yaml:12:3: error: the part "canopy.yaml" is outside the folder of the '
        "catalogue (part-outside) hint: put the file itself in the folder of catalogue.yaml, or in "
        "one below it"
    ]
    part.unlink()
    (folder / "kept").mkdir()
    outside.rename(folder / "kept" / "canopy.yaml")
    part.symlink_to(Path("kept") / "canopy.yaml")
    assert told("yard") == []
    part.unlink()
    part.symlink_to("canopy.yaml")
    (said,) = told("yard")
    assert said.startswith("yard/catalogue.yaml:12:3: error: ")
    assert 'the part "canopy.yaml"' in said


@pytest.mark.parametrize(
    "given",
    [
        "format: 1\nparts: [vehicles.yaml]\n",
        b"format: 1\nparts: [vehicles.yaml]\n",
        {"format": 1, "parts": ["vehicles.yaml"]},
    ],
    ids=["text", "bytes", "data"],
)
@pytest.mark.usefixtures("folder")
def test_what_has_no_folder_cannot_name_parts(given: Any) -> None:
    with pytest.raises(CatalogueError) as caught:
        open_shop(given, DAY)
    (problem,) = caught.value.problems
    assert (problem.at.file, problem.code) == ("catalogue", "parts-of-a-text")


@pytest.mark.parametrize("rooted", [False, True])
def test_two_parts_of_one_name_in_two_folders_are_told_apart(folder: Path, rooted: bool) -> None:
    text = (folder / "catalogue.yaml").read_text("utf-8")
    for inside in ("vehicles", "canopy"):
        (folder / inside).mkdir()
        (folder / f"{inside}.yaml").rename(folder / inside / "all.yaml")
        text = text.replace(f"{inside}.yaml", f"{inside}/all.yaml")
        part = folder / inside / "all.yaml"
        part.write_text(f"{inside}-door: 4\n" + part.read_text("utf-8"), "utf-8")
    (folder / "catalogue.yaml").write_text(text, "utf-8")
    _, problems = open_catalogue(folder if rooted else "yard")
    for inside, problem in zip(("canopy", "vehicles"), problems, strict=True):
        file = f"{inside}/all.yaml"
        assert f"{inside}-door" in problem.sentence
        assert problem.at.path == (str(folder / file) if rooted else f"yard/{file}")
        assert str(problem.at) == (f"{file}:1:1" if rooted else f"yard/{file}:1:1")
        assert json.loads(to_json(problem))["file"] == problem.at.file


def test_the_folder_itself_may_be_reached_by_a_link(folder: Path) -> None:
    (folder.parent / "linked").symlink_to(folder)
    assert told("linked") == []


@pytest.fixture(scope="module")
def in_one() -> Catalogue:
    """The shipped catalogue read from one text."""
    catalogue, problems = parse_catalogue(shipped_in_one(), str(FOLDER / "quandong.yaml"))
    assert catalogue is not None, problems
    return catalogue


def test_split_and_in_one_file_it_is_the_same_catalogue(
    quandong: Catalogue, in_one: Catalogue
) -> None:
    assert quandong == in_one
    assert quandong.trade == in_one.trade
    assert (len(quandong.parts), in_one.parts) == (len(PARTS), ())


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_split_and_in_one_file_it_gives_the_same_quote_to_the_byte(
    name: str, quandong: Catalogue, in_one: Catalogue
) -> None:
    papers, answers = set(), []
    for catalogue in (quandong, in_one):
        build = Shop(catalogue.on(DAY)).build(FOLDER / "selections" / f"{name}.yaml")
        quote = build.quote("Q-2041", DAY)
        papers.add(paper_html(quote, look_of(catalogue.shop)))
        answers.append(json.loads(to_json(quote)))
    assert len(papers) == 1
    assert [answer.pop("catalogue-digest") for answer in answers] == [
        quandong.digest,
        in_one.digest,
    ]
    assert answers[0] == answers[1]


def test_the_digest_is_of_every_file_wherever_they_lie(tmp_path: Path, quandong: Catalogue) -> None:
    shutil.copy(FOLDER / "quandong.yaml", tmp_path)
    shutil.copytree(FOLDER / "quandong", tmp_path / "quandong")
    digests = [quandong.digest]

    def digest() -> str:
        catalogue, problems = open_catalogue(tmp_path / "quandong.yaml")
        assert catalogue is not None, problems
        return catalogue.digest

    assert digest() == quandong.digest
    for part in (PARTS[0], PARTS[-1]):
        copied = tmp_path / "quandong" / part.name
        copied.write_text(copied.read_text("utf-8") + "# newer\n", "utf-8")
        digests.append(digest())
    assert len({*digests}) == 3


def test_a_paper_knows_the_catalogue_by_all_of_its_files(run: Run) -> None:
    named = ("--name", "Wattle Trays", "--address", "1 Example Lane")
    assert run("catalogue", "new", "yard", *named).code == 0
    with_it = ("--catalogue", "yard", "--date", "2026-08-03")
    quoted = ("quote", "yard/selections/first.yaml", *with_it, "-o", "q.pdf", "--issue")
    ran = run(*quoted, "--seller", "Ann")
    assert (ran.code, ran.err) == (0, "")
    assert run("price", "q.pdf", *with_it).err == ""
    changed = Path("yard/catalogue/power.yaml")
    changed.write_text(changed.read_text("utf-8") + "# newer\n", "utf-8")
    ran = run("price", "q.pdf", *with_it)
    assert ran.err.startswith("q.pdf: note: the catalogue has changed since quote Q-1 of ")
    kept = json.loads(run("register", "show", "Q-1", "--json").out)["revisions"][0]
    shop = open_shop("yard", DAY)
    changed.write_text(changed.read_text("utf-8").removesuffix("# newer\n"), "utf-8")
    assert kept["catalogue-digest"] == open_shop("yard", DAY).catalogue.digest
    assert kept["catalogue-digest"] != shop.catalogue.digest


def test_a_finding_and_a_caution_name_the_part_that_says_so(quandong: Catalogue) -> None:
    build = Shop(quandong.on(DAY)).build(FOLDER / "selections" / "wish.yaml")
    files = {Path(finding.at.path).name for finding in build.check().findings if finding.at.line}
    assert files
    assert files <= {part.name for part in PARTS}
    fridge = next(choice for choice in quandong.choices if choice.id == "upright-fridge")
    at = fridge.options[0].at
    line = Path(at.path).read_text("utf-8").splitlines()[at.line - 1]
    assert line[at.column - 1 :] == f"id: {fridge.options[0].id}"


def test_every_shipped_part_is_right_by_the_schema_that_it_names_for_editors() -> None:
    # an editor follows the reference to the file beside it; here it is given by the same name
    whole = Resource.from_contents(schema("catalogue"))
    registry: Registry[Any] = Registry().with_resource("catalogue.schema.json", whole)
    checker = Draft202012Validator(schema("catalogue-part"), registry=registry)
    for part in PARTS:
        text = part.read_text("utf-8")
        assert text.startswith(
            "# yaml-language-server: $schema=../../configurator/schemas/catalogue-part.schema.json"
        )
        data = read_tree(text, part.name, linked("catalogue")).data
        assert [e.message for e in checker.iter_errors(data)] == []
    wrong = {"vehicels": [], "rules": [{"id": "a"}]}
    assert len([*checker.iter_errors(wrong)]) == 2


@pytest.mark.parametrize("name", ["yard", "yard/catalogue.yaml"])
def test_the_page_at_the_counter_follows_a_change_in_any_file(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(crew, "_LOOKS", 0.05)
    before = for_sellers(open_shop(name, DAY))

    async def changed() -> None:
        at_work = crew.Crew(Posting(before), name, crew.stamps_of(name), quick=0)
        await at_work.start()
        try:
            part = folder / "canopy.yaml"
            part.write_text(part.read_text("utf-8").replace("100.00", "150.00"), "utf-8")
            async with asyncio.timeout(60):
                while price_of(at_work.posting.catalogue) != "150.00":
                    assert at_work.remarks == ()
                    await asyncio.sleep(0.05)
        finally:
            at_work.stop()

    def price_of(pickled: bytes) -> str:
        catalogue: Catalogue = pickle.loads(pickled)
        (price,) = catalogue.option("doors", "wide").price
        return str(getattr(price, "amount", ""))

    assert price_of(before) == "100.00"
    asyncio.run(changed())
