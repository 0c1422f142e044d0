"""A paper as plain text: the medium, and how dates and strips are set in it."""
