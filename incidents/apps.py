from django.apps import AppConfig


class IncidentsConfig(AppConfig):
    name = "incidents"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from incidents import checks  # noqa: F401  registers itself
