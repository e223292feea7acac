"""Writers: the drawing model and the pieces put down in file formats. They decide nothing; import them where needed."""
