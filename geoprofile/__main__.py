"""``python -m geoprofile``."""

from .cli import main

main()
