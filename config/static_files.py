"""How production serves the files of `static/`: hashed, compressed and kept for good."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # no types
    """A script of the phone's page asks for what it imports by the hashed name, too.

    Only under that name does the phone keep it (`views/field.py`); without that the page
    does not open where there is no link. Django's own switch for this reads every script,
    and stumbles over an example in a comment of one that is not ours.
    """

    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        (
            "field/*.js",
            ((r'(?P<matched>from "(?P<url>\./\w+\.js)")', 'from "%(url)s"'),),
        ),
    )
    # A module is named after those that it imports, and those after theirs.
    max_post_process_passes = 10
