"""Metric and imperial: whose choice it is, the quantities, figures as typed and as told. Inside all stays SI."""
