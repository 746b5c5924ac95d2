"""What a script, a command and the editor share: files taken in, the player, targets, takes, practice.

`Piece` is the public face (`import tabterm`); commands and the editor stand on it and on the modules beside it.
"""
