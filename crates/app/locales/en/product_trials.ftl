# Trials of products, isotherms, learning from batches, moving a recipe.
