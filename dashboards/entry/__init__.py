"""What is run, as against imported."""
