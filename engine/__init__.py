"""The work behind the screens: figures, the job and the shift, the disk, the papers."""
