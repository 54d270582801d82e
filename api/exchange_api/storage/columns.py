"""What the tables are made of: columns that every driver takes as they are."""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    Text,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)
TEXT = Text().with_variant(Text(collation="C"), "postgresql")


def text_column(name: str, *, null: bool = False) -> Column[str]:
    """Text that sorts by its bytes."""
    return Column(name, TEXT, nullable=null)


def bytes_column(name: str, *, null: bool = False) -> Column[bytes]:
    """Bytes as they are."""
    return Column(name, LargeBinary, nullable=null)


def count_column(name: str) -> Column[int]:
    """A whole number of 64 bits."""
    return Column(name, BigInteger, nullable=False)


def flag_column(name: str) -> Column[int]:
    """1 for yes, 0 for no."""
    return Column(name, Integer, nullable=False)


def workshop_column() -> Column[str]:
    """The workshop that a row belongs to."""
    return Column("workshop_id", TEXT, ForeignKey("workshops.workshop_id"), nullable=False)
