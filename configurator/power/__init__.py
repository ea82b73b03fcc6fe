"""Electricity of a selection: loads, battery, charging, circuits and cables."""
