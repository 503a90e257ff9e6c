from django.apps import AppConfig


class IncidentsConfig(AppConfig):
    name = "incidents"
    verbose_name = "People and agency"  # what its admin shows of it
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from incidents import checks  # noqa: F401  registers itself
