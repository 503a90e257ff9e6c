"""Many incidents judged both ways: here, on all cores, or on the machines of a scheduler.

What is worked out is `review.what_if_document.judge`; this package reads what it needs and
spreads it. Nothing is written, and the rows come in the same order whatever way is taken.
"""
