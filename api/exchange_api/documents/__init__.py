"""Records as documents: for the customer and the workshop, as HTML and PDF; labels; a pack.

A document's content is made once, as plain texts and pictures, and both forms only lay it out.
"""
