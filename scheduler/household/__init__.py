"""What the practitioner has and says: the site, the batch, the process."""
