"""Columns and cells of a weather sheet, for drying.weathersheet."""
