package pids

// Sources of rows. The body of SAE J1979-DA is not public; these sources quote it.
const (
	published = `SAE J1979, as tabulated in the encyclopaedia article "OBD-II PIDs" (CC BY-SA, 2026-07-02)`
	layout    = published + "; order of the fields as in the Scapy packet library"
	lengthOf  = published + ": length only"
	recalled  = "from memory of SAE J1979-DA"
	mixed     = published + "; in part from memory of SAE J1979-DA"
	reserved  = "no layout known"
)

// table has the row of every PID at its own number.
var table = build(rows00, rows20, rows40, rows60, rows78, rows80, rowsA0)

// signals has the first field of each signal.
var signals = index()

// build puts the rows at their places. Two rows for one PID are a mistake in the table.
func build(parts ...[]PID) *[256]PID {
	t := new([256]PID)
	for i := range t {
		t[i] = PID{ID: byte(i), Name: "unknown"}
		if i%0x20 == 0 {
			t[i].MinLen, t[i].MaxLen = mapLen, mapLen
		}
	}
	for _, rows := range parts {
		for _, row := range rows {
			if t[row.ID].Known() {
				panic("pids: two rows for " + row.Name)
			}
			for i := range row.Fields {
				row.Fields[i].Recalled = !seen[row.Fields[i].Signal]
			}
			t[row.ID] = row
		}
	}
	return t
}

func index() map[Signal]*Field {
	m := make(map[Signal]*Field)
	for i := range table {
		for j := range table[i].Fields {
			f := &table[i].Fields[j]
			if m[f.Signal] == nil {
				m[f.Signal] = f
			}
		}
	}
	return m
}

// About returns the name of a signal in words, and its unit; ok is false for a signal that
// is not in the table.
func About(s Signal) (name, unit string, ok bool) {
	f := signals[s]
	if f == nil {
		return "", "", false
	}
	return f.Name, f.Unit, true
}

// seen are the acronyms that were confirmed when the table was made. The others are from
// memory of SAE J1979-DA, or our own where the standard has one acronym for several PIDs.
var seen = map[Signal]bool{
	RPM: true, VSS: true, TP: true, TPR: true, APPD: true, APPR: true, LoadPct: true, LoadAbs: true,
	MAP: true, ECT: true, VPWR: true, "IAT": true, "MAF": true, "SPARKADV": true, "SHRTFT1": true, "LONGFT1": true,
}
