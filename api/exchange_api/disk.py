"""How much room is left on the disk of an SQLite database."""

from shutil import disk_usage

from exchange_api.settings import Settings, database_folder


def is_nearly_full(settings: Settings, *, more: int = 0) -> bool:
    """Whether less than the reserve is free, or would be with so many bytes more.

    Always no for a database that a server keeps.
    """
    folder = database_folder(settings.database)
    return folder is not None and disk_usage(folder).free < settings.disk_reserve + more
