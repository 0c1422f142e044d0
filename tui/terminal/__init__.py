"""The line to the terminal: driver, bytes, title, staying awake."""
