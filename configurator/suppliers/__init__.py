"""Suppliers' price lists: from the rows of a sheet to new figures in the catalogue's own text.

All of it is for the shop's eyes only: no paper and no answer of a customer's leads here.
"""
