"""``python -m decodable``."""

from decodable.cli import main

main()
