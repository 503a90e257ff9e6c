"""Checks against published values: each stands beside the source that prints it.

`from memory of <source>` marks a value that was recalled, not read; those tests carry the
marker `from_memory` and can be left out with `-m "not from_memory"`.
"""
