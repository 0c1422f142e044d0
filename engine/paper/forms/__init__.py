"""Papers for programs and telephones: JSON, CSV, a calendar file, a message."""
