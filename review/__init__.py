"""Looking back: what a log shows when it is over, and what would have been.

Plain values in, plain values out: no database, no clock, no page. `screening` and
`command` say what held at a moment; this package compares moments, editions of limits
and crews' answers.
"""
