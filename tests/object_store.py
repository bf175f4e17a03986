"""An S3-compatible store on loopback: Debian's swift with its s3api, in a folder and processes of its own."""

import http.client
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from urllib.parse import quote

PROGRAMS = ("swift-ring-builder", *(f"swift-{kind}-server" for kind in ("proxy", "object", "container", "account")))
KEY, SECRET = "academy:site", "words/for+loopback@alone"  # what an address cannot hold as it is
PIPELINE = "catch_errors gatekeeper healthcheck cache listing_formats bulk s3api tempauth copy slo dlo proxy-server"
OPTIONS = {
    "tempauth": f"user_{KEY.replace(':', '_')} = {SECRET} .admin\n",
    "s3api": "location = us-east-1\n",
}


def is_installed() -> bool:
    """Whether all of its programs are there."""
    return all(map(shutil.which, PROGRAMS))


@contextmanager
def object_store(folder: Path, ports: list[int]) -> Iterator[str]:
    """What MEDIA_STORE says of an empty store without a bucket, which runs until the end; it wants four ports."""
    (folder / "devices/one").mkdir(parents=True)
    kinds = ("proxy", "object", "container", "account")
    write_proxy(folder, ports[0])
    for kind, port in zip(kinds[1:], ports[1:], strict=True):
        write_node(folder, kind, port)
    with ExitStack() as running:
        for kind in kinds:
            words = [f"swift-{kind}-server", str(folder / f"{kind}.conf")]
            process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            running.callback(process.wait)
            running.callback(process.terminate)
        for port in ports:
            wait_for(port)
        yield f"http://{quote(KEY, safe='')}:{quote(SECRET, safe='')}@127.0.0.1:{ports[0]}/media"


def write_node(folder: Path, kind: str, port: int) -> None:
    """The configuration of one server that keeps files or lists, and the ring by which it is found."""
    builder = folder / f"{kind}.builder"
    for words in (["create", "1", "1", "0"], ["add", f"r1z1-127.0.0.1:{port}/one", "1"], ["rebalance"]):
        subprocess.run(["swift-ring-builder", str(builder), *words], capture_output=True)  # it warns by its status
    write_config(folder / f"{kind}.conf", f"{kind}-server", port, f"[app:{kind}-server]\nuse = egg:swift#{kind}\n")


def write_proxy(folder: Path, port: int) -> None:
    """The configuration of the server that is asked."""
    names = {name: "memcache" if name == "cache" else name for name in PIPELINE.split()[:-1]}
    filters = "".join(f"[filter:{name}]\nuse = egg:swift#{egg}\n{OPTIONS.get(name, '')}" for name, egg in names.items())
    app = "[app:proxy-server]\nuse = egg:swift#proxy\naccount_autocreate = true\n"
    write_config(folder / "proxy.conf", PIPELINE, port, filters + app)


def write_config(path: Path, pipeline: str, port: int, sections: str) -> None:
    """The configuration of one server."""
    path.write_text(
        f"[DEFAULT]\nbind_ip = 127.0.0.1\nbind_port = {port}\nworkers = 0\nuser = {path.parent.owner()}\n"
        f"swift_dir = {path.parent}\ndevices = {path.parent}/devices\nmount_check = false\n"
        f"[pipeline:main]\npipeline = {pipeline}\n{sections}"
    )


def wait_for(port: int) -> None:
    """Wait until a server answers. Raises TimeoutError after a minute and a half."""
    deadline = time.monotonic() + 90
    while time.monotonic() < deadline:
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as connection:
                connection.request("GET", "/healthcheck")
                connection.getresponse().read()
            return
        except OSError:
            time.sleep(0.2)
    raise TimeoutError("swift does not answer")
