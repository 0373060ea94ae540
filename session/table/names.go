package table

import (
	"strings"
	"sync"
	"unicode"

	"github.com/judder-obd/judder/pids"
)

// alsoCalled are names of signals that people write besides the acronyms and the names of the table
// of parameters; common words of the trade, no source. They are written as [plainName] gives them.
var alsoCalled = map[string]pids.Signal{
	"engine rpm": pids.RPM, "engine revs": pids.RPM, "revs": pids.RPM, "engine revolutions": pids.RPM,
	"speed": pids.VSS, "road speed": pids.VSS, "car speed": pids.VSS, "vehicle speed sensor": pids.VSS,
	"throttle": pids.TP, "throttle position": pids.TP, "absolute throttle position": pids.TP, "absolute throttle": pids.TP,
	"relative throttle": pids.TPR,
	"pedal":             pids.APPD, "pedal position": pids.APPD, "accelerator": pids.APPD, "accelerator pedal": pids.APPD,
	"accelerator position": pids.APPD, "accelerator pedal position": pids.APPD,
	"load": pids.LoadPct, "engine load": pids.LoadPct, "calculated engine load": pids.LoadPct, "calculated load value": pids.LoadPct,
	"absolute engine load": pids.LoadAbs,
	"coolant":              pids.ECT, "coolant temperature": pids.ECT, "coolant temp": pids.ECT, "engine coolant temp": pids.ECT,
	"engine coolant": pids.ECT, "water temperature": pids.ECT,
	"manifold pressure": pids.MAP, "intake manifold pressure": pids.MAP, "manifold absolute pressure": pids.MAP,
	"intake manifold absolute pressure": pids.MAP,
	"voltage":                           pids.VPWR, "battery": pids.VPWR, "battery voltage": pids.VPWR, "module voltage": pids.VPWR, "supply voltage": pids.VPWR,
	"gear": pids.GearAct, "current gear": pids.GearAct,
	"intake temperature": "IAT", "intake air temp": "IAT", "air flow": "MAF", "air mass": "MAF",
	"ambient temperature": "AAT", "ambient temp": "AAT", "outside temperature": "AAT",
	"oil temperature": "EOT", "oil temp": "EOT", "engine oil temp": "EOT", "fuel level": "FLI",
	"timing advance": "SPARKADV", "ignition timing": "SPARKADV", "spark advance": "SPARKADV", "ignition advance": "SPARKADV",
}

// plainName is a name in lower case, with one space for everything that is neither letter nor digit.
func plainName(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	return strings.Join(words, " ")
}

// known are all names of signals: acronyms first, then what the table of parameters calls them, then
// the rest.
var known = sync.OnceValue(func() map[string]pids.Signal {
	found := map[string]pids.Signal{}
	add := func(name string, s pids.Signal) {
		if _, taken := found[name]; !taken && name != "" {
			found[name] = s
		}
	}
	var all []pids.Signal
	for id := range 256 {
		for _, f := range pids.Lookup(byte(id)).Fields {
			all = append(all, f.Signal)
		}
	}
	for _, s := range all {
		add(plainName(string(s)), s)
	}
	for _, s := range all {
		name, _, _ := pids.About(s)
		add(plainName(name), s)
	}
	for name, s := range alsoCalled {
		add(name, s)
	}
	return found
})

// signalNamed finds the signal of a name in any of its forms.
func signalNamed(name string) (pids.Signal, bool) {
	if _, _, ok := pids.About(pids.Signal(name)); ok {
		return pids.Signal(name), true
	}
	s, ok := known()[plainName(name)]
	return s, ok
}
