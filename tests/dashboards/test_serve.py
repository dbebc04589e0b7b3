"""The pages are served to this machine only, with nothing left to a settings file."""

import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from dashboards import STORE_VARIABLE, serve, upload


def flags(port=8501):
    return serve.command(port)


@pytest.mark.parametrize(
    "flag",
    [
        "--server.address=127.0.0.1",
        "--server.headless=true",
        "--server.fileWatcherType=none",
        "--server.port=8501",
        "--browser.gatherUsageStats=false",
        "--client.toolbarMode=viewer",
        "--client.disableDataExport=true",
        "--client.showErrorDetails=none",
        "--server.maxUploadSize=64",
        "--server.enableStaticServing=false",
        "--server.enableXsrfProtection=true",
        "--server.allowedHosts=127.0.0.1",
        "--server.allowedHosts=localhost",
        "--theme.backgroundColor=#FBF9F4",
    ],
)
def test_every_setting_is_a_flag(flag):
    assert flag in flags()


def test_limit_of_an_upload_is_the_one_the_page_names():
    assert serve.OPTIONS["server.maxUploadSize"] == str(upload.MOST_MB)


def test_environment_names_the_store_and_drops_the_callers_streamlit_settings(monkeypatch, tmp_path):
    monkeypatch.setenv("STREAMLIT_SERVER_ADDRESS", "0.0.0.0")
    passed = serve.environment(tmp_path)
    assert "STREAMLIT_SERVER_ADDRESS" not in passed
    assert passed[STORE_VARIABLE] == str(tmp_path)


def test_a_port_in_use_is_refused_in_a_sentence(tmp_path, capsys):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert serve.serve(tmp_path, taken.getsockname()[1]) == 2
    assert "Choose another one" in capsys.readouterr().err


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(port):
    for _ in range(150):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health") as answer:
                return answer.read() == b"ok"
        except OSError:
            time.sleep(0.2)
    return False


@pytest.fixture(scope="module")
def serving(tmp_path_factory):
    port, store = free_port(), tmp_path_factory.mktemp("none")
    running = subprocess.Popen(serve.command(port), env=serve.environment(store), stdout=subprocess.DEVNULL)
    assert wait_for(port)
    yield port
    running.terminate()
    running.wait()


def children_of(pid):
    listed = subprocess.run(["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True).stdout
    return [int(line) for line in listed.split()]


def test_another_host_name_gets_no_connection(serving):
    """A page elsewhere whose name is pointed at this machine must not reach the log."""
    assert upgrade(serving, "localhost").startswith(b"HTTP/1.1 101")
    assert not upgrade(serving, "pages.example").startswith(b"HTTP/1.1 101")


def upgrade(port, host):
    lines = [
        "GET /_stcore/stream HTTP/1.1",
        f"Host: {host}:{port}",
        f"Origin: http://{host}:{port}",
        "Connection: Upgrade",
        "Upgrade: websocket",
        "Sec-WebSocket-Version: 13",
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==",
    ]
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(("\r\n".join(lines) + "\r\n\r\n").encode())
        return line.recv(200)


def test_it_listens_on_no_other_address(serving):
    listening = Path("/proc/net/tcp").read_text().splitlines()[1:]
    addresses = {
        line.split()[1].split(":")[0] for line in listening if line.split()[1].endswith(f":{serving:04X}")
    }
    assert addresses == {"0100007F"}  # 127.0.0.1, as Linux writes it


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_ending_it_ends_the_server_too(tmp_path, how):
    port = free_port()
    command = [sys.executable, "-m", "dashboards.serve", "--store", str(tmp_path), "--port", str(port)]
    running = subprocess.Popen(command, stderr=subprocess.PIPE, cwd=serve.ROOT.parent)
    try:
        assert wait_for(port)
        server = children_of(running.pid)
        running.send_signal(how)
        _, said = running.communicate(timeout=20)
        assert b"Traceback" not in said
        assert server
        assert not [pid for pid in server if Path(f"/proc/{pid}").exists()]
    finally:
        running.kill()
        running.wait()
    assert serve.is_free(port)
