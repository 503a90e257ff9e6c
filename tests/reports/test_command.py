"""`python -m reports`: a report from a file, or every error of the file."""

import json

from reports.__main__ import main
from reports.reading import page_texts
from tests.reports.worksheets import document


def test_a_worksheet_file_becomes_a_report(tmp_path):
    sheet, report = tmp_path / "sheet.json", tmp_path / "report.pdf"
    sheet.write_text(json.dumps(document()), encoding="utf-8")

    assert main([str(sheet), str(report), "--paper", "letter"]) == 0

    assert "Quarry Lane pump house" in page_texts(report.read_bytes())[0]


def test_a_worksheet_with_errors_prints_them_all_and_writes_nothing(tmp_path, capsys):
    sheet, report = tmp_path / "sheet.json", tmp_path / "report.pdf"
    wrong = document()
    wrong["log"][1]["lel_percent"] = "12"
    wrong["log"][2]["ph"] = 15
    sheet.write_text(json.dumps(wrong), encoding="utf-8")

    assert main([str(sheet), str(report)]) == 2

    errors = capsys.readouterr().err
    assert "/log/1/lel_percent" in errors
    assert "/log/2/ph" in errors
    assert not report.exists()
