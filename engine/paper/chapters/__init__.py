"""What stands on several papers or is a chapter of the record; a sheet puts them in order."""
