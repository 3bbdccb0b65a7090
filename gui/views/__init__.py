"""Widgets that show it."""
