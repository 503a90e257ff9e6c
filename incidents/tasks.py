"""What a worker does in the background (`manage.py db_worker`)."""

from django_tasks import task


@task()
def judge_archive(run: int) -> None:
    """Do a what-if run, or what is left of it; nothing where another worker is at it."""
    from incidents.rescreening.job import work

    work(run)
