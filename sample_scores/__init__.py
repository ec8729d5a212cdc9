"""Four original pieces that show what Overstave finds, and the script that writes them."""
