"""The start on a machine that has nothing: real interpreters, virtual environments and pip, and no network.

Each test gets a small project with the real manage.py and coachbook/bootstrap.py. Its requirements pin a
package named Django that only says where and how it was run; pip finds it as a wheel in a folder.
"""

import ast
import ctypes
import hashlib
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import zipfile
from ctypes.util import find_library
from operator import itemgetter
from pathlib import Path
from types import SimpleNamespace

import pytest

from coachbook import system_packages
from coachbook.management.commands import test as suite

ROOT = Path(__file__).resolve().parent.parent
STARTERS = ("manage.py", "coachbook/__init__.py", "coachbook/bootstrap.py", "coachbook/system_packages.py")
PYTHON = sys._base_executable
SAYS = """
import json, os, sys
import django
def execute_from_command_line(argv):
    facts = {"version": django.VERSION, "prefix": sys.prefix, "cwd": os.getcwd()}
    print(json.dumps({**facts, "argv": argv, "env": dict(os.environ)}))
    sys.exit(7 if "fail" in argv else 0)
"""


def make_wheel(folder, name, version, files=None, more=()):
    """A wheel as the specification of binary distributions has it: files, METADATA, WHEEL and RECORD."""
    metadata = [f"Name: {name}", f"Version: {version}", *more]
    info = f"{name}-{version}.dist-info"
    files = {
        **(files or {}),
        f"{info}/METADATA": "Metadata-Version: 2.1\n" + "\n".join(metadata) + "\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    files[f"{info}/RECORD"] = "".join(f"{path},,\n" for path in (*files, f"{info}/RECORD"))
    with zipfile.ZipFile(folder / f"{name}-{version}-py3-none-any.whl", "w") as wheel:
        for path, text in files.items():
            wheel.writestr(path, text)


def make_django(folder, version):
    files = {
        "django/__init__.py": f"VERSION = {version!r}\n",
        "django/core/__init__.py": "",
        "django/core/management/__init__.py": SAYS,
    }
    extra = ["Provides-Extra: tools", 'Requires-Dist: tool>=1; extra == "tools"']
    make_wheel(folder, "django", version, files, extra)


@pytest.fixture(scope="session")
def wheels(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheels")
    for version in ("1.0", "2.0"):
        make_django(folder, version)
    make_wheel(folder, "tool", "1.5")
    make_wheel(folder, "checker", "3.0")
    return folder


@pytest.fixture(scope="session")
def environment(wheels):
    """pip sees the folder of wheels and nothing else; no setting of this machine reaches it."""
    offline = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(wheels), "PIP_CONFIG_FILE": os.devnull}
    return {"PATH": os.defpath, "HOME": str(wheels), "PYTHONDONTWRITEBYTECODE": "1", **offline}


@pytest.fixture(scope="session")
def command(environment):
    """Runs manage.py of a project; `facts` holds what the package said that it found."""

    def run(project, *words, python=PYTHON, cwd=None, preexec_fn=None, **extra):
        done = subprocess.run(
            [python, project / "manage.py", *words],
            cwd=cwd or project,
            env={**environment, **extra},
            preexec_fn=preexec_fn,
            capture_output=True,
            text=True,
        )
        last = done.stdout.splitlines()[-1:]
        facts = json.loads(last[0]) if last and last[0].startswith("{") else None
        return SimpleNamespace(code=done.returncode, out=done.stdout, err=done.stderr, facts=facts)

    return run


def make_project(folder, wheels):
    for name in STARTERS:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, folder / name)
    (folder / "tests").mkdir()
    (folder / "requirements.txt").write_text("# Chosen.\n\nDjango[tools]==1.0    # why\n")
    (folder / "tests/requirements.txt").write_text("-r ../requirements.txt\nchecker==3.0\n")
    (folder / ".locks").mkdir()
    hashes = {name: " ".join(map(hash_of, sorted(wheels.glob(f"{name}-*")))) for name in ("django", "tool", "checker")}
    runtime = f"Django[tools]==1.0 {hashes['django']}\ntool==1.5 {hashes['tool']}\n"
    (folder / ".locks/demo.txt").write_text(runtime)
    (folder / ".locks/test.txt").write_text(f"{runtime}checker==3.0 {hashes['checker']}\n")
    return folder


def hash_of(wheel):
    return f"--hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}"


@pytest.fixture
def project(tmp_path, wheels):
    """As it comes from a clone."""
    return make_project(tmp_path / "clone", wheels)


@pytest.fixture(scope="session")
def first(tmp_path_factory, wheels, command):
    """The first `demo` of a clone, run from another folder."""
    folder = make_project(tmp_path_factory.mktemp("first") / "clone", wheels)
    return folder, command(folder, "demo", "a b", "--port=1", cwd="/")


@pytest.fixture
def ready(first, tmp_path):
    """A project of its own after that."""
    return shutil.copytree(first[0], tmp_path / "ready", symlinks=True)


def pin(project, version):
    for name in ("requirements.txt", ".locks/demo.txt", ".locks/test.txt"):
        path = project / name
        path.write_text(re.sub(r"Django\[tools\]==[\d.]+", f"Django[tools]=={version}", path.read_text()))


def stamp(project):
    return project / ".venv/installed-pins"


def site_packages(environment):
    return next((environment / "lib").glob("python3*/site-packages"))


def ran_inside(run, project, version="1.0"):
    return run.facts and (run.facts["prefix"], run.facts["version"]) == (str(project / ".venv"), version)


def says_in_one_line(run, *parts):
    """No success, no traceback: one line, which says what is wrong and what to type."""
    assert run.code == 1
    assert run.facts is None
    (line,) = run.err.splitlines()
    for part in (*parts, "type", "manage.py"):
        assert part in line
    return True


def other_environment(folder, *versions):
    """A virtual environment of the user's own, with these versions of the package unpacked in it."""
    subprocess.run([PYTHON, "-m", "venv", "--without-pip", folder], check=True)
    return folder / "bin/python", site_packages(folder)


def unpack(wheels, name, folder):
    with zipfile.ZipFile(wheels / f"{name}-py3-none-any.whl") as wheel:
        wheel.extractall(folder)


# --- The first run ------------------------------------------------------------------------------


def test_the_first_demo_installs_and_runs_in_its_own_environment(first):
    folder, run = first
    assert run.code == 0, run.err
    assert ran_inside(run, folder)
    assert run.facts["argv"] == [str(folder / "manage.py"), "demo", "a b", "--port=1"]
    assert run.facts["cwd"] == "/"
    assert run.out.count("Installing into .venv") == 1
    assert run.err == ""
    assert "COACHBOOK_INSTALLED" not in run.facts["env"]


def test_it_writes_nothing_outside_its_environment(first):
    folder, _ = first
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        [".locks", ".venv", "coachbook", "manage.py", "requirements.txt", "tests"]
    )


def test_the_extras_of_a_pin_are_installed(first):
    assert (site_packages(first[0] / ".venv") / "tool-1.5.dist-info").exists()


def test_the_stamp_names_the_pins(first):
    assert stamp(first[0]).read_text() == "Django[tools]==1.0\n"


def test_the_exit_code_is_that_of_the_command(ready, command):
    assert command(ready, "demo", "fail").code == 7


def test_test_installs_its_own_pins_and_those_that_it_names(ready, command):
    run = command(ready, "test", "-x")
    assert ran_inside(run, ready)
    assert run.facts["argv"][1:] == ["test", "-x"]
    assert (site_packages(ready / ".venv") / "checker-3.0.dist-info").exists()
    assert "Installing" not in command(ready, "demo").out


# --- Later runs ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["demo", "migrate"])
def test_a_later_run_installs_nothing(ready, command, name):
    before = stamp(ready).stat().st_mtime_ns
    run = command(ready, name, PIP_FIND_LINKS="/nowhere")
    assert ran_inside(run, ready)
    assert run.out.count("\n") == 1
    assert stamp(ready).stat().st_mtime_ns == before


@pytest.mark.parametrize("inside", [False, True], ids=["from outside", "from inside"])
def test_new_pins_are_installed(ready, command, inside):
    pin(ready, "2.0")
    python = ready / ".venv/bin/python" if inside else PYTHON
    assert ran_inside(command(ready, "demo", python=python), ready, "2.0")


def test_a_package_changed_by_hand_is_put_right(ready, command):
    shutil.rmtree(site_packages(ready / ".venv") / "django-1.0.dist-info")
    run = command(ready, "demo")
    assert ran_inside(run, ready)
    assert run.out.count("Installing") == 1


def test_an_interrupted_install_is_begun_anew(ready, command, environment):
    pin(ready, "2.0")
    with socket.create_server(("127.0.0.1", 0)) as index:
        index.settimeout(20)
        address = f"http://127.0.0.1:{index.getsockname()[1]}/simple"
        started = subprocess.Popen(
            [PYTHON, ready / "manage.py", "demo"],
            env={**environment, "PIP_NO_INDEX": "", "PIP_INDEX_URL": address},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            # A job in the background of a shell would pass on that it ignores the signal.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        connection, _ = index.accept()  # pip has asked, and waits for an answer
        os.killpg(started.pid, signal.SIGINT)
        said = started.communicate(timeout=20)[1]
        connection.close()
    assert said.splitlines() == ["Interrupted while installing; type the same command again: python3 manage.py demo"]
    assert not stamp(ready).exists()
    (site_packages(ready / ".venv") / "django/core/management/__init__.py").write_text("half of it")
    assert ran_inside(command(ready, "demo"), ready, "2.0")


def test_an_interpreter_that_is_gone_is_replaced(ready, command):
    python = ready / ".venv/bin/python"
    python.unlink()
    python.symlink_to("/nowhere/python3")
    assert ran_inside(command(ready, "demo"), ready)


def test_an_environment_that_lost_pip_is_made_anew_from_inside_it(ready, command):
    shutil.rmtree(site_packages(ready / ".venv"))
    assert ran_inside(command(ready, "demo", python=ready / ".venv/bin/python"), ready)


# --- Commands that must not install -------------------------------------------------------------


@pytest.mark.parametrize("words", [["migrate"], ["runserver", "demo"], []])
def test_another_command_never_installs(project, command, words):
    assert says_in_one_line(command(project, *words), "Django[tools]==1.0", "python3 manage.py demo")
    assert not (project / ".venv").exists()


def test_another_command_leaves_an_old_environment_alone(ready, command):
    pin(ready, "2.0")
    run = command(ready, "migrate")
    assert says_in_one_line(run, "Django[tools]==2.0", "python3 manage.py demo")
    assert stamp(ready).read_text() == "Django[tools]==1.0\n"


# --- Other packages on the machine --------------------------------------------------------------


def test_packages_on_the_python_path_do_not_shadow_the_pins(ready, command, wheels, tmp_path):
    unpack(wheels, "django-2.0", tmp_path / "other")
    run = command(ready, "demo", PYTHONPATH=str(tmp_path / "other"), PYTHONHOME=sys.base_prefix)
    assert ran_inside(run, ready)
    assert not {"PYTHONPATH", "PYTHONHOME"} & set(run.facts["env"])


def test_packages_on_the_python_path_do_not_count_as_installed(ready, command, wheels, tmp_path):
    unpack(wheels, "django-2.0", tmp_path / "other")
    pin(ready, "2.0")
    run = command(ready, "demo", PYTHONPATH=str(tmp_path / "other"), PIP_TARGET=str(tmp_path / "target"))
    assert ran_inside(run, ready, "2.0")
    assert not (tmp_path / "target").exists()


def test_another_virtual_environment_is_not_touched(ready, command, wheels, tmp_path):
    python, packages = other_environment(tmp_path / "mine")
    unpack(wheels, "django-2.0", packages)
    before = sorted(packages.rglob("*"))
    assert ran_inside(command(ready, "demo", python=python), ready)
    assert sorted(packages.rglob("*")) == before


def test_an_interpreter_that_meets_every_pin_is_used_as_it_is(project, command, wheels, tmp_path):
    python, packages = other_environment(tmp_path / "mine")
    for name in ("django-1.0", "tool-1.5"):
        unpack(wheels, name, packages)
    run = command(project, "demo", python=python)
    assert run.facts["prefix"] == str(tmp_path / "mine")
    assert not (project / ".venv").exists()


def test_an_interpreter_without_what_an_extra_needs_is_not_enough(project, command, wheels, tmp_path):
    python, packages = other_environment(tmp_path / "mine")
    unpack(wheels, "django-1.0", packages)
    assert says_in_one_line(command(project, "migrate", python=python), "Django[tools]==1.0")


# --- What can go wrong --------------------------------------------------------------------------


def test_without_a_network(ready, command):
    pin(ready, "2.0")
    nowhere = {"PIP_NO_INDEX": "", "PIP_FIND_LINKS": "", "PIP_INDEX_URL": "http://127.0.0.1:9/simple"}
    run = command(ready, "demo", PIP_RETRIES="0", **nowhere)
    assert says_in_one_line(run, "No matching distribution found for Django", "the same command again")
    assert not stamp(ready).exists()


def test_a_version_that_is_nowhere(ready, command):
    pin(ready, "9.9")
    assert says_in_one_line(command(ready, "demo"), "==9.9")


def test_a_package_that_is_not_the_one_of_the_lock_is_not_installed(project, command):
    lock = project / ".locks/demo.txt"
    lock.write_text(re.sub(r"(tool==1.5 --hash=sha256:)\w+", rf"\g<1>{'0' * 64}", lock.read_text()))
    assert says_in_one_line(command(project, "demo"), "pip could not install", "DO NOT MATCH THE HASHES")
    assert not stamp(project).exists()


def test_a_package_that_the_lock_does_not_name_is_not_installed(project, command):
    lock = project / ".locks/demo.txt"
    lock.write_text(lock.read_text().splitlines()[0])
    assert says_in_one_line(command(project, "demo"), "pip could not install", "require-hashes")
    assert not stamp(project).exists()


def test_a_pin_that_pip_spells_otherwise_does_not_install_in_a_circle(ready, command):
    pin(ready, "2.0.0")
    assert says_in_one_line(command(ready, "demo"), "Django[tools]==2.0.0")


def test_a_requirement_that_is_no_pin(project, command):
    (project / "requirements.txt").write_text("Django>=1.0\n")
    assert "name==version" in command(project, "demo").err


def test_an_environment_that_cannot_be_finished_is_removed(project, command, tmp_path):
    python, packages = other_environment(tmp_path / "mine")
    (packages / "none.pth").write_text("import venv; venv.EnvBuilder._setup_pip = lambda *a: exit('no space left')\n")
    assert says_in_one_line(command(project, "demo", python=python), "no space left")
    assert not (project / ".venv").exists()


def without_root_rights():
    """Root writes anywhere, by a capability that a process can drop: prctl(PR_CAPBSET_DROP, DAC_OVERRIDE)."""
    if os.geteuid() == 0:
        ctypes.CDLL(None).prctl(24, 1, 0, 0, 0)


def test_without_the_permission_to_write(project, command):
    project.chmod(0o555)
    run = command(project, "demo", preexec_fn=without_root_rights)
    project.chmod(0o755)
    assert says_in_one_line(run, "No permission to write", str(project))


# --- What the machine lacks ---------------------------------------------------------------------

# Which Debian 12 package holds which file, by its list of contents (packages.debian.org/bookworm).
HOLDERS = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
    "libatomic.so.1": "libatomic1",
}
FOR_PDFS = ["libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0", "fonts-dejavu-core"]
FOR_DEMO = ["python3-venv", *FOR_PDFS]
FOR_TEST = [*FOR_DEMO, "chromium-headless-shell", "libatomic1"]
# An interpreter on a machine that holds what the packages of a list hold, and nothing else.
BARE = """
import ctypes, os, pathlib, sys
from importlib import util
def has(package):
    return package in pathlib.Path({installed!r}).read_text().split()
def load(name, found=ctypes.CDLL):
    if not has({holders!r}.get(name)):
        raise OSError(name)
def find_spec(name, find=util.find_spec):
    return find(name) if name != "ensurepip" or has("python3-venv") else None
def glob(path, pattern, find=pathlib.Path.glob):
    if "fonts" not in str(path).lower():
        return find(path, pattern)
    return iter([path / "x.ttf"] if has("fonts-dejavu-core") else [])
def exists(path, find=pathlib.Path.exists):
    return str(path) != "/etc/os-release" and find(path)
ctypes.CDLL, util.find_spec, pathlib.Path.glob, pathlib.Path.exists = load, find_spec, glob, exists
sys.platform = "linux"
os.geteuid = lambda: {user}
if "venv" in sys.orig_argv:  # the pip of another environment is there at once
    import shutil, venv
    def setup_pip(builder, context):
        packages = next(pathlib.Path(context.env_dir, "lib").glob("python3*")) / "site-packages"
        shutil.copytree({pip!r}, packages / "pip")
    venv.EnvBuilder._setup_pip = setup_pip
"""
APT_INSTALLS = """
case "$*" in *install*)
    echo "$@" >> installed
    case "$*" in *chromium*) echo > chromium-headless-shell; /bin/chmod 755 chromium-headless-shell;; esac
esac
"""
ROOT_USER, PLAIN_USER = 0, 1000


@pytest.fixture
def bare(tmp_path, command, first):
    """Runs manage.py on a bare machine; without `apt`, a script, it is not a Debian."""
    machine = tmp_path / "machine"
    machine.mkdir()
    installed, calls = machine / "installed", machine / "calls"
    calls.touch()
    python, packages = other_environment(tmp_path / "mine")
    pip = str(site_packages(first[0] / ".venv") / "pip")

    def make(name, does):
        (machine / name).write_text(f'#!/bin/sh\ncd {machine}\necho "{name} $*" >> calls\n{does}\n')
        (machine / name).chmod(0o755)

    def run(project, *words, user, apt=None, has=(), inside=False):
        installed.write_text(" ".join(has))
        for name in {"chromium", "chromium-headless-shell"} & set(has):
            make(name, "")
        if apt is not None:
            make("apt-get", apt)
        site = site_packages(project / ".venv") if inside else packages
        (site / "bare.pth").write_text("import bare\n")
        (site / "bare.py").write_text(BARE.format(installed=str(installed), holders=HOLDERS, user=user, pip=pip))
        done = command(project, *words, python=PYTHON if inside else python, PATH=str(machine))
        done.calls = calls.read_text().splitlines()
        return done

    return run


def apt_calls(packages):
    return ["apt-get -qq update", "apt-get -qq install -y --no-install-recommends " + " ".join(packages)]


def line_to_type(packages, name, sudo="sudo "):
    return f"type: {sudo}apt-get update && {sudo}apt-get install -y {' '.join(packages)} && python3 manage.py {name}"


@pytest.mark.parametrize("name, packages", [("demo", FOR_DEMO), ("test", FOR_TEST)])
def test_root_gets_what_is_missing_from_debian(project, bare, name, packages):
    run = bare(project, name, user=ROOT_USER, apt=APT_INSTALLS)
    assert ran_inside(run, project), run.err
    assert run.calls == apt_calls(packages)
    said = run.out.splitlines()
    assert said[0] == f"Installing Debian packages: {' '.join(packages)} ..."
    assert said[1].startswith("Installing into .venv")
    assert "Missing" not in run.out + run.err


def test_only_what_is_missing_is_installed(project, bare):
    run = bare(project, "test", user=ROOT_USER, apt=APT_INSTALLS, has=[*FOR_DEMO, "chromium"])
    assert run.calls == apt_calls(["libatomic1"])


def test_a_machine_that_has_everything_is_left_alone(project, bare):
    run = bare(project, "test", user=ROOT_USER, apt=APT_INSTALLS, has=FOR_TEST)
    assert ran_inside(run, project)
    assert run.calls == []


@pytest.mark.parametrize("name, packages", [("demo", FOR_DEMO), ("test", FOR_TEST)])
def test_without_root_one_line_names_everything_before_anything_is_done(project, bare, name, packages):
    run = bare(project, name, user=PLAIN_USER, apt=APT_INSTALLS)
    assert says_in_one_line(run, "for .venv: Python's venv module; for PDFs: Pango", line_to_type(packages, name))
    assert run.out == ""
    assert run.calls == []
    assert not (project / ".venv").exists()


@pytest.mark.parametrize("name, packages", [("demo", FOR_PDFS), ("test", FOR_TEST[1:])])
def test_without_root_and_with_venv_it_says_so_first_and_goes_on(project, bare, name, packages):
    run = bare(project, name, user=PLAIN_USER, apt=APT_INSTALLS, has=["python3-venv"])
    assert ran_inside(run, project)
    said, installing, _ = run.out.splitlines()
    assert said.startswith("Missing for PDFs: Pango")
    assert said.endswith(line_to_type(packages, name))
    assert ("for the browser tests: Chromium, libatomic;" in said) == (name == "test")
    assert installing.startswith("Installing into .venv")
    assert run.calls == []


def test_elsewhere_than_on_debian_it_names_what_is_missing(project, bare):
    run = bare(project, "test", user=ROOT_USER)
    names = "Python's venv module", "Pango", "HarfBuzz-Subset", "a font", "Chromium", "libatomic"
    assert says_in_one_line(run, *names, "; install that and type: python3 manage.py test")
    assert "apt-get" not in run.err
    assert not (project / ".venv").exists()


def test_elsewhere_than_on_debian_the_demo_goes_on_without_pdfs(project, bare):
    run = bare(project, "demo", user=PLAIN_USER, has=["python3-venv"])
    assert ran_inside(run, project)
    assert run.out.startswith("Missing for PDFs: Pango")


def test_where_debian_cannot_install_it_says_why(project, bare):
    fails = 'case "$*" in *install*) echo "Reading ..."; echo "E: No space left" >&2; exit 100;; esac'
    run = bare(project, "demo", user=ROOT_USER, apt=fails)
    assert says_in_one_line(run, "E: No space left", line_to_type(FOR_DEMO, "demo", sudo=""))
    assert not (project / ".venv").exists()


def test_a_source_that_does_not_answer_need_not_be_the_one(project, bare):
    run = bare(project, "demo", user=ROOT_USER, apt=f'case "$*" in *update*) exit 100;; esac\n{APT_INSTALLS}')
    assert ran_inside(run, project)


def test_a_later_run_gets_what_went_missing(ready, bare):
    run = bare(ready, "demo", user=ROOT_USER, apt=APT_INSTALLS, has=["libpango-1.0-0"], inside=True)
    assert ran_inside(run, ready)
    assert run.calls == apt_calls(FOR_PDFS[1:])
    assert "Installing into .venv" not in run.out


def test_a_later_run_needs_no_venv_module(ready, bare):
    run = bare(ready, "demo", user=PLAIN_USER, apt=APT_INSTALLS, has=FOR_PDFS, inside=True)
    assert ran_inside(run, ready)
    assert run.out.count("\n") == 1


def test_another_command_asks_nothing_of_the_machine(ready, bare):
    run = bare(ready, "migrate", user=ROOT_USER, apt=APT_INSTALLS, inside=True)
    assert ran_inside(run, ready)
    assert run.calls == []
    assert run.out.count("\n") == 1


@pytest.mark.parametrize(
    "release, name",
    [
        ("NAME=Ubuntu\nID=ubuntu\n", "chromium-browser"),
        ("ID=debian\n", "chromium-headless-shell"),
        ("ID_LIKE=ubuntu\n", "chromium-headless-shell"),
    ],
)
def test_ubuntu_names_one_package_otherwise(monkeypatch, tmp_path, release, name):
    (tmp_path / "os-release").write_text(release)
    monkeypatch.setattr(system_packages, "OS_RELEASE", tmp_path / "os-release")
    assert system_packages.package_names(system_packages.NEEDS)[-2:] == [name, "libatomic1"]


def test_a_library_is_there_under_any_of_its_names():
    assert system_packages.has_library("libnothing.so.0", find_library("c"))
    assert not system_packages.has_library("libnothing.so.0", "libnothing.dylib")


@pytest.mark.parametrize(
    "name, is_font",
    [("truetype/dejavu/a.ttf", True), ("a.otf", True), ("a.ttc", True), ("a.txt", False), (None, False)],
)
def test_a_font_is_a_file_below_one_of_the_folders(monkeypatch, tmp_path, name, is_font):
    if name:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    monkeypatch.setattr(system_packages, "FONTS", ("/nowhere", str(tmp_path)))
    assert system_packages.has_font() == is_font


def test_the_readme_names_every_package():
    readme = (ROOT / "README.md").read_text()
    assert [name for name in FOR_TEST if f"`{name}`" not in readme] == []


# --- Other interpreters -------------------------------------------------------------------------


def other_interpreters():
    """The Python 3 of this machine with their versions: those that pyenv keeps, else those on the PATH."""
    kept = sorted(Path.home().glob(".pyenv/versions/3.*/bin/python"))
    for python in kept or filter(None, [shutil.which(f"python3.{minor}") for minor in range(6, 20)]):
        asked = subprocess.run([python, "-c", "import sys; print(*sys.version_info[:2])"], capture_output=True)
        if not asked.returncode:
            yield python, tuple(map(int, asked.stdout.split()))


def test_an_old_interpreter_says_so(project, command):
    for python, version in other_interpreters():
        if version < (3, 11):
            run = command(project, "demo", python=python)
            assert says_in_one_line(run, "Python 3.11 or newer", "this is {}.{};".format(*version))
    assert not (project / ".venv").exists()


def test_the_newest_interpreter_will_do(project, command):
    python, _ = max([*other_interpreters(), (PYTHON, sys.version_info[:2])], key=itemgetter(1))
    assert ran_inside(command(project, "demo", python=python), project)


@pytest.mark.parametrize("name", STARTERS)
def test_what_runs_first_parses_as_python_3_6(name):
    tree = ast.parse((ROOT / name).read_text(), feature_version=(3, 6))
    imported = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    assert not [node for node in imported if node.module == "__future__"]


def test_the_start_needs_the_standard_library_only():
    """manage.py imports Django, too, but only after the start."""
    nodes = [node for name in STARTERS[1:] for node in ast.walk(ast.parse((ROOT / name).read_text()))]
    names = [alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names]
    imported = [node for node in nodes if isinstance(node, ast.ImportFrom)]
    names += [node.module for node in imported if node.module != "coachbook"]
    assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names
    own = {alias.name for node in imported if node.module == "coachbook" for alias in node.names}
    assert own == {"system_packages"}


# --- manage.py test -----------------------------------------------------------------------------

NO_SERVER = "postgres://127.0.0.1:1/coachbook"


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A PATH with nothing on it but the programs that a test makes; each writes down how it was called."""
    monkeypatch.setenv("PATH", str(tmp_path))
    for name in ("CHROMIUM", "DATABASE_URL"):
        monkeypatch.delenv(name, raising=False)
    names = tuple(name for name in system_packages.BROWSERS if "/" not in name)
    monkeypatch.setattr(system_packages, "BROWSERS", names)
    monkeypatch.setattr(system_packages, "has_library", lambda *names: True)
    calls = tmp_path / "calls"
    calls.touch()

    def make(name, does=""):
        (tmp_path / name).write_text(f'#!/bin/sh\necho "{name} $*" >> {calls}\n{does}\n')
        (tmp_path / name).chmod(0o755)
        return str(tmp_path / name)

    return SimpleNamespace(make=make, calls=lambda: calls.read_text().splitlines())


def started(monkeypatch, *words):
    """What `manage.py test` would put in its own place: the words after the interpreter, and the environment."""
    seen = []
    monkeypatch.setattr(os, "chdir", lambda folder: None)
    monkeypatch.setattr(os, "execve", lambda *call: seen.append(call))
    suite.Command().run_from_argv(["manage.py", "test", *words])
    ((program, arguments, environment),) = seen
    assert program == arguments[0] == sys.executable
    return arguments[1:], environment


@pytest.mark.parametrize("given", [[], ["--sqlite"]])
def test_every_word_goes_to_pytest_and_sqlite_is_the_default(machine, monkeypatch, given):
    browser = machine.make("chromium")
    monkeypatch.setenv("DATABASE_URL", "postgres:///elsewhere")
    arguments, environment = started(monkeypatch, *given, "-k", "putting or chips", "--skips", "x")
    assert arguments == ["-m", "pytest", "-n", "auto", "-k", "putting or chips", "--skips", "x"]
    assert "DATABASE_URL" not in environment
    assert environment["CHROMIUM"] == browser


def test_postgres_takes_the_address_that_answers(machine, monkeypatch):
    machine.make("chromium")
    monkeypatch.setattr(suite, "why_silent", lambda url: "")
    assert started(monkeypatch, "--postgres")[1]["DATABASE_URL"] == "postgres:///coachbook"
    monkeypatch.setenv("DATABASE_URL", "postgresql://db.example/coachbook")
    arguments, environment = started(monkeypatch, "-x", "--postgres")
    assert arguments == ["-m", "pytest", "-n", "auto", "-x"]
    assert environment["DATABASE_URL"] == "postgresql://db.example/coachbook"


def test_postgres_without_a_server_stops_in_one_line(machine, monkeypatch):
    monkeypatch.setenv("DATABASE_URL", NO_SERVER)
    with pytest.raises(SystemExit, match=r"No PostgreSQL answers \(.*127.0.0.1.*type: python3 manage.py") as stop:
        started(monkeypatch, "--postgres")
    assert "\n" not in stop.value.code
    assert machine.calls() == []


def test_postgres_starts_the_cluster_of_debian(machine, monkeypatch):
    machine.make("pg_lsclusters", "echo '15 main 5432 down postgres /var/lib/postgresql/15/main'")
    machine.make("pg_ctlcluster")
    machine.make("su")
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(suite, "SOCKET", NO_SERVER)
    with pytest.raises(SystemExit, match="No PostgreSQL answers"):
        started(monkeypatch, "--postgres")
    assert machine.calls() == [
        "pg_lsclusters --no-header",
        "pg_ctlcluster --skip-systemctl-redirect 15 main start",
        "su postgres -c createuser -d root",
    ]


@pytest.mark.parametrize("name", ["chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"])
def test_a_browser_on_the_path_is_found(machine, name):
    made = machine.make(name)
    assert system_packages.find_browser() == made


def test_a_browser_can_be_named(machine, monkeypatch):
    machine.make("chromium")
    monkeypatch.setenv("CHROMIUM", sys.executable)
    assert system_packages.find_browser() == sys.executable


@pytest.mark.parametrize("lacks", ["Chromium", "a library of its driver"])
def test_without_all_that_the_browser_tests_need_they_are_left_out(machine, monkeypatch, lacks):
    if lacks != "Chromium":
        machine.make("chromium")
        monkeypatch.setattr(system_packages, "has_library", lambda *names: False)
        monkeypatch.setattr(sys, "platform", "linux")
    assert started(monkeypatch)[1]["CHROMIUM"] == ""


def test_the_exit_code_is_that_of_pytest():
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST")}
    words = ["test", "--collect-only", "-q", "-n0", "tests/test_ci.py", "-k", "there_is_no_such_test"]
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", *words],
        env={**environment, "CHROMIUM": sys.executable},
        cwd="/",
        capture_output=True,
    )
    assert done.returncode == pytest.ExitCode.NO_TESTS_COLLECTED
