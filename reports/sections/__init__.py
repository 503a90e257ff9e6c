"""The parts of the after-action report, each a function from `ReportData` to flowables."""
