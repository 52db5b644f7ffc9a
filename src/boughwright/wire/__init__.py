"""Wire: choice, section mechanics, set, bite, the hold window and how wire comes off."""
