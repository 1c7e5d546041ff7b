"""What must be right before practice, as findings with what to do."""
