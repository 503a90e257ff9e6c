"""Benchmarks. Each prints what it measured as a ratio to a floor of the same run.

A figure in microseconds depends on the machine and on what else runs there; a ratio to a
floor that was measured in turn with it says something anywhere. No test asserts either.

    python -m bench.engine      the fold, entry by entry, and the command
    python -m bench.post        one entry through the service, against a bare insert
    python -m bench.chain       the chain verified, against hashing alone
    python -m bench.archive     incidents found among 10,000, against reading the words
    python -m bench.report      the report built and signed, against a plain table
    python -m bench.long_chain  one long log verified, by its number of entries
    python -m bench.what_if     an archive under other limits, against reading and folding it
    python -m bench.what_if_archive
                                the command in one process, against a worker on all cores
                                that is killed on its way; `--incidents 1000 --entries 1000`

Each takes `--quick` for a run of a few seconds that shows only that it works.
"""
