"""What jobs and shifts came to over the years, a line each, and what it teaches. Pure."""
