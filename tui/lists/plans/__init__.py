"""Lists by which a plan is changed and made: of a job, or a new one."""
