"""Reading and writing what is kept on disk: jobs, billets, outlines, layouts."""
