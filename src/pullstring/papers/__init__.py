"""Pages: figures and words for people, on the terminal, in the browser and on paper; drawings to scale; labels."""
