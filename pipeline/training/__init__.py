"""What a trainer writes down in the store: reasons of comebacks, house notes, what was taught when; and the sheet to print."""
