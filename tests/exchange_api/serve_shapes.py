"""Run as a program: serves the records of `shapes` over the database that the argument names."""

import sys

from exchange_api.app import HANDLERS, create_app
from exchange_api.server import run
from exchange_api.settings import Settings
from tests.exchange_api import shapes

if __name__ == "__main__":
    settings = Settings(port=0, database=sys.argv[1])
    sys.exit(run(create_app(settings, handlers=HANDLERS + shapes.HANDLERS), settings))
