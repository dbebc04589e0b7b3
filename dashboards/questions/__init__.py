"""One question a file: it asks a measure, words the answer, draws the chart."""
