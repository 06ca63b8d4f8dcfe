"""A headless LibreOffice with a profile that lets sheets fetch."""

import pathlib
import socket
import subprocess
import time

import uno
from com.sun.star.beans import PropertyValue

# Links are only updated in documents from a folder that is trusted.
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Common/Security/Scripting"><prop oor:name="SecureURL" oor:op="fuse"><value><it>{folder}</it></value></prop></item>
<item oor:path="/org.openoffice.Office.Calc/Content/Update"><prop oor:name="Link" oor:op="fuse"><value>0</value></prop></item>
{more}
</oor:items>
"""

LOCALE = '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>{}</value></prop></item>'

XLSX = "Calc MS Excel 2007 XML"
CSV = "Text - txt - csv (StarCalc)"


def options(**values):
    return tuple(PropertyValue(Name=k, Value=v) for k, v in values.items())


class Office:
    """LibreOffice in a process of its own, in the locale given."""

    def __init__(self, folder, locale="en-GB"):
        self.folder = pathlib.Path(folder)
        profile = self.folder / ("profile-" + locale)
        (profile / "user").mkdir(parents=True)
        (profile / "user" / "registrymodifications.xcu").write_text(
            PROFILE.format(folder=self.folder.as_uri(), more=LOCALE.format(locale)))
        with socket.socket() as s:
            s.bind(("127.0.0.1", 0))
            port = s.getsockname()[1]
        at = f"socket,host=127.0.0.1,port={port};urp;"
        self.process = subprocess.Popen(
            ["soffice", "--headless", "--norestore", f"-env:UserInstallation={profile.as_uri()}", f"--accept={at}"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
        for attempt in range(240):
            try:
                context = resolver.resolve(f"uno:{at}StarOffice.ComponentContext")
                break
            except Exception:
                if attempt == 239:
                    raise
                time.sleep(0.25)
        self.desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.desktop.terminate()
        except Exception:
            pass
        try:
            self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.process.kill()

    def open(self, path):
        url = path if ":" in str(path) else pathlib.Path(path).resolve().as_uri()
        return self.desktop.loadComponentFromURL(
            url, "_blank", 0, options(Hidden=True, UpdateDocMode=3, MacroExecutionMode=4))

    def new(self):
        return self.open("private:factory/scalc")


def save(doc, path, kind=XLSX, **more):
    doc.storeToURL(pathlib.Path(path).resolve().as_uri(), options(FilterName=kind, **more))


def cell(doc, sheet, name):
    return doc.Sheets.getByName(sheet).getCellRangeByName(name)


def recalculated(doc):
    """Cells that wait for one another need a round each."""
    for _ in range(6):
        doc.calculateAll()
    return doc
