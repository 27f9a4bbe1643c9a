"""The procedure: rest check, press walk and flex watch as pure machines. Sights and commands in, prompts and marks out."""
