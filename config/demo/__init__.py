"""The demo mill: invented, moved along with today's date, its readings made by the project's own model with noise."""
