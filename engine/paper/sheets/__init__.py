"""What stands on a paper; a sheet knows no width, no font and no page."""
