"""The secrets of the second step are sealed where they lie."""

from binascii import hexlify, unhexlify

from django.db import migrations

from incidents.sealing import is_sealed, seal, unseal


def _owner(row):
    return f"second step of {row.user_id}"


def seal_all(apps, schema_editor):
    rows = apps.get_model("otp_totp", "TOTPDevice").objects
    for row in rows.using(schema_editor.connection.alias).iterator():
        if not is_sealed(row.key):
            row.key = seal(unhexlify(row.key), _owner(row))
            row.save(update_fields=["key"])


def open_all(apps, schema_editor):
    rows = apps.get_model("otp_totp", "TOTPDevice").objects
    for row in rows.using(schema_editor.connection.alias).iterator():
        if is_sealed(row.key):
            row.key = hexlify(unseal(row.key, _owner(row))).decode("ascii")
            row.save(update_fields=["key"])


class Migration(migrations.Migration):
    dependencies = [
        ("incidents", "0019_drills"),
        ("otp_totp", "0003_add_timestamps"),
    ]

    operations = [
        migrations.CreateModel(
            name="Authenticator",
            fields=[],
            options={
                "default_permissions": (),
                "proxy": True,
                "indexes": [],
                "constraints": [],
            },
            bases=("otp_totp.totpdevice",),
        ),
        migrations.RunPython(seal_all, open_all),
    ]
