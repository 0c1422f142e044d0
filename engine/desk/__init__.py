"""Where it comes together: ask a rule, write the press, know the log, hand out papers."""
