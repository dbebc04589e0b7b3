"""The script that Streamlit runs.

It lies in a folder of its own: beside a folder named `pages` Streamlit would take every file there for a page, and
the address of one of ours would open with "Page not found".
"""

from dashboards.app import main

main()
