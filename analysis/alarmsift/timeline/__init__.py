"""Visits, cycles, episodes, bouts and coverage."""
