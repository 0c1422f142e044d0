"""Where the time went, how long work usually takes, and what is left by the plan. Pure."""
