"""What is left of the open jobs, and when each will be done. Pure."""
