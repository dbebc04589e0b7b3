"""What may leave the firm: counted cells that no small number can be worked back from, and how that was done."""
