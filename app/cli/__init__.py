"""The commands, without a window: `blankwright check PROJECT` and the others.

Bad input gives one line on standard error that says what, where and how to mend it, and exit code 2.
`command_line.main` reads what was asked; the window takes `prepare` alone from here, and loads no command.
"""
