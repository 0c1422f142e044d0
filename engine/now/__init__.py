"""One instant: what comes next, what one look tells, what rings, what a caller hears. Pure."""
