"""Where to dig next."""
