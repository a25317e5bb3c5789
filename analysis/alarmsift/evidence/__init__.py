"""Measuring tools and the contract of a sign."""
