#!/usr/bin/python3
"""Write what Scapy, a general packet library, makes of OBD data.

    apt-get install python3-scapy
    /usr/bin/python3 make.py pids > scapy.csv
    /usr/bin/python3 make.py units > ../../monitor/testdata/reference/units.csv

Scapy is under the GPL, version 2. The files hold values that it computed; nothing of it is
copied but the names of its fields.

scapy.csv, the PIDs of service 01, has two kinds of records:

    pid,ID,LENGTH,FIELD,...    a PID, its number of data bytes, the names of its fields
    DATA,VALUE,...             data bytes in hex, and the value of each field

A map of supported PIDs has the PIDs as one value, with spaces between; other flags are
the number of their bits. PIDs that Scapy does not take apart have no fields.

The data are: all bits off and on, ramps, the ends of each byte's range, each bit of the
first byte alone, and random bytes from a seed that is the PID's number. Scapy rounds to
three places by default; here the fields are told to keep ten. Scales and offsets are
Scapy's own.

pids/monitor's units.csv, the unit-and-scaling ids of service 06: ID, unit, raw value in hex, value.
"""

import csv
import logging
import random
import sys

logging.getLogger("scapy").setLevel(logging.ERROR)

import scapy  # noqa: E402
from scapy.config import conf  # noqa: E402

conf.contribs["OBD"] = {"treat-response-pending-as-answer": False}

from scapy.contrib.automotive.obd.mid.mids import OBD_MIDXX  # noqa: E402
from scapy.contrib.automotive.obd.pid import pids  # noqa: E402
from scapy.fields import FlagsField, PacketField, ScalingField, StrFixedLenField  # noqa: E402

RANDOM_ROWS = 16
PLACES = 10


def data_bytes(pid, length):
    """Data for a PID, without doubles, in a fixed order."""
    rows = [bytes([b] * length) for b in (0x00, 0xFF, 0x80, 0x7F, 0x01, 0xFE, 0xFA, 0xFB)]
    rows.append(bytes(range(length)))
    rows.append(bytes(0xFF - i for i in range(length)))
    rows.append(bytes((0x11 * i) & 0xFF for i in range(length)))
    rows.append(bytes([0x80, 0x00] * length)[:length])
    if length == 1:
        rows += [bytes([b]) for b in range(0, 0x100, 0x0B)]
    draw = random.Random(pid)
    for bit in range(8):
        rows.append(bytes([1 << bit]) + draw.randbytes(length - 1))
    rows += [draw.randbytes(length) for _ in range(RANDOM_ROWS)]
    return list(dict.fromkeys(rows))


def shown(packet, field):
    """A field's value as text."""
    value = getattr(packet, field.name)
    if isinstance(field, FlagsField):
        if field.name == "supported_pids":
            return " ".join(sorted(str(value).replace("PID", " ").replace("+", " ").split()))
        return str(int(value))
    if isinstance(value, float):
        return ("%.*f" % (PLACES, value)).rstrip("0").rstrip(".")
    return str(int(value))


def records():
    for pid in range(0x100):
        kind = getattr(pids, "OBD_PID%02X" % pid, None)
        if kind is None:
            continue
        fields = [f for f in kind.fields_desc if not f.name.startswith("reserved")]
        if any(isinstance(f, (StrFixedLenField, PacketField)) for f in fields):
            length = 2 if any(isinstance(f, PacketField) for f in fields) else sum(f.sz for f in kind.fields_desc)
            yield ["pid", "%02X" % pid, length]
            continue
        for f in fields:
            if isinstance(f, ScalingField):
                f.ndigits = PLACES
        length = len(bytes(kind(bytes(64)))) - len(kind(bytes(64)).payload)
        yield ["pid", "%02X" % pid, length] + [f.name for f in fields]
        for data in data_bytes(pid, length):
            packet = kind(data)
            yield [data.hex().upper()] + [shown(packet, f) for f in fields]


def units():
    field = next(f for f in OBD_MIDXX.fields_desc if f.name == "test_value")
    scaled = [f for f, _ in field.flds if isinstance(f, ScalingField)]
    for f in scaled:
        f.ndigits = PLACES
    for uas in sorted(OBD_MIDXX.unit_and_scaling_ids):
        draw = random.Random(uas)
        raws = [0, 1, 0x7FFF, 0x8000, 0x8001, 0xFFFE, 0xFFFF, 0x1234] + [draw.randrange(0x10000) for _ in range(8)]
        for raw in raws:
            packet = OBD_MIDXX(bytes([0x01, uas]) + raw.to_bytes(2, "big") + bytes(4))
            used = field._find_fld_pkt(packet)
            yield ["%02X" % uas, getattr(used, "unit", ""), "%04X" % raw, shown(packet, used)]


def main():
    what = sys.argv[1]
    print("# Scapy %s, %s: made by make.py, which says how. Values computed by the library; nothing" % (scapy.__version__, what))
    print("# copied from it but the names of its fields.")
    csv.writer(sys.stdout, lineterminator="\n").writerows({"pids": records, "units": units}[what]())


main()
