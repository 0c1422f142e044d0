"""What keeps a log whole: looked through, repaired, copied, and what is forgotten of it."""
