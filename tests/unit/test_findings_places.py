"""A finding says where the catalogue says so, and nothing of the machine that it was read on."""

from __future__ import annotations

import pickle
from pathlib import Path

from configurator import open_shop
from tests.support.paths import ROOT
from tests.support.shipped import shipped_in_one


def test_no_finding_holds_a_path_of_the_machine(tmp_path: Path) -> None:
    demo = shipped_in_one()
    (tmp_path / "of-mine.yaml").write_text(demo.replace("logo:", "# logo:"), "utf-8")
    shop = open_shop(tmp_path / "of-mine.yaml")
    build = shop.build(ROOT / "catalogues/selections/wish.yaml")
    answer = build.check()
    files = {finding.at.file for finding in answer.findings if finding.at.line}
    assert files == {"of-mine.yaml"}
    assert str(tmp_path).encode() not in pickle.dumps(answer.findings)
