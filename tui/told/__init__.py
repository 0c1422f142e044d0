"""What there is to tell at the cart, whoever shows it; nothing of the screen library."""
