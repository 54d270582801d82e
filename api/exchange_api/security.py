"""Who asks: API keys, what they allow, and the guards that every request passes."""

import hmac
import re
import zlib
from hashlib import sha256

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler
from msgspec import Struct
from sqlalchemy import bindparam, insert, select, update

from exchange_api.outside import Outside
from exchange_api.problems import Problem
from exchange_api.scopes import ADMINISTRATOR
from exchange_api.serving import Request, media_type, operation_of, service
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import API_KEYS, WORKSHOPS
from exchange_api.storage.units import Connection, Database, StorageUnavailable, Unit
