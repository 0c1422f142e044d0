"""The machine: battery, printer, instrument, files, places."""
