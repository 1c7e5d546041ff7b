"""Why: a card for each fault and each drill, with where each claim comes from and a figure drawn by number."""
