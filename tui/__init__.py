"""What is seen, heard and typed: screens, lists, widgets, sounds, commands."""
