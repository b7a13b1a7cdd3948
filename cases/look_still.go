package cases

// stillLooks are the pictures that stand still.
var stillLooks = []look{}
