"""Where the time went, how long work usually takes, and what the plan gives. Pure."""
