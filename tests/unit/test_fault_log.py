"""Our own faults are told with a reference and kept with their details."""

from __future__ import annotations

import re

from api.fault_log import record_fault


def fault():
    try:
        raise KeyError("no such shelf")
    except KeyError as error:
        return error


def test_the_reference_that_is_told_is_in_the_log_with_the_details(tmp_path):
    first, second = record_fault(fault(), tmp_path / "home"), record_fault(fault(), tmp_path / "home")
    log = (tmp_path / "home" / "faults.log").read_text()
    references = [re.search(r"reference ([0-9a-f]{8})", told).group(1) for told in (first, second)]
    assert references[0] != references[1]
    assert all(reference in log for reference in references)
    assert log.count("KeyError: 'no such shelf'") == log.count("Traceback") == 2
    assert "Traceback" not in first
    assert str(tmp_path / "home" / "faults.log") in first


def test_a_log_that_cannot_be_written_is_told_too(tmp_path):
    (tmp_path / "home").write_text("a file where the folder should be")
    assert "could not be kept" in record_fault(fault(), tmp_path / "home")
