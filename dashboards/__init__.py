"""The pages: they ask the measures, word the answers and draw the charts; nothing is worked out here."""

# The command line tells the pages by this variable which store to show.
STORE_VARIABLE = "MENDSTAT_STORE"
