"""Signed reports, charts and the words of readings: plain values in, bytes out.

Nothing here knows of Django or a model. What a page or a service wants printed it hands
over as the frozen values of `reports.data`, so a report can be printed from a worksheet
file with no database.
"""
