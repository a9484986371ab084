"""The invented survey of the demonstration, step by step: ground, places, profiles, faults, files."""
