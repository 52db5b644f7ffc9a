"""Health: vigour, signs, disease pressure, frost and heat limits."""
