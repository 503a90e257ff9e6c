from django.contrib.auth import hashers


class Argon2PasswordHasher(hashers.Argon2PasswordHasher):
    """Argon2id with 19 MiB a hash instead of 100: a crew signing in at once must not
    take the memory of a small box. From memory of the OWASP password storage cheat
    sheet, which names 19 MiB, two passes and one lane as enough.
    """

    time_cost = 2
    memory_cost = 19 * 1024
    parallelism = 1
