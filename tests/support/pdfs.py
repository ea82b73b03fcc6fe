"""PDFs as tests look at them: checked by two checkers, measured, and written anew with changes."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Callable
from pathlib import Path

import page as page_validation
import pdfua
import pikepdf


def rewrite(
    file: Path, change: Callable[[str, bytes], bytes | None], digests_too: bool = False
) -> None:
    """Save the PDF with its files changed, or left out where None; as another program would."""
    with pikepdf.open(file, allow_overwriting_input=True) as opened:
        sums = opened.Root.PieceInfo.TrayCanopyConfigurator.Private.Digests
        for index in range(0, len(sums), 2):
            name = str(sums[index])
            now = change(name, opened.attachments[name].get_file().read_bytes())
            del opened.attachments[name]
            if now is not None:
                opened.attachments[name] = pikepdf.AttachedFileSpec(opened, now, filename=name)
                if digests_too:
                    sums[index + 1] = pikepdf.String(hashlib.sha256(now).hexdigest())
        opened.save(file)


CLAIMS = (page_validation.ValidationProfile.PDF_A_3A, page_validation.ValidationProfile.PDF_UA_1)


def found_by_page_validation(pdf: bytes) -> list[str]:
    found = []
    for claim in CLAIMS:
        report = page_validation.validate_pdf_bytes(pdf, profile=claim)
        assert report.rules.total > 90
        found += [f"{failure.rule_id}: {failure.message}" for failure in report.failures]
    return found


def found_by_pdfua(pdf: bytes) -> list[str]:
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        report = pdfua.Validator().validate(file.name)
    return [f"{finding.rule_id}: {finding.message}" for finding in report.findings]
