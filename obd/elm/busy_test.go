package elm

import (
	"testing"

	"github.com/judder-obd/judder/obd"
)

func ended(request string, ending obd.Ending, lines ...string) obd.Exchange {
	x := exchangeOf(0, obd.FormCAN11, request, lines...)
	x.Ending = ending
	return x
}

// An adapter may be busy after a request that ended without a prompt, that was taken for "stop", or
// that it did not know; only an answer in full to a command of its own shows that it is free. "?" may
// answer what is left of one. From the texts of the ELM327 data sheet, pp. 87-90.
func TestGuard_Busy(t *testing.T) {
	asked := func(lines ...string) obd.Exchange { return ended("010C", obd.EndPrompt, lines...) }
	own := func(lines ...string) obd.Exchange { return ended(FreeCommand, obd.EndPrompt, lines...) }
	silence := ended("010C", obd.EndSilence)
	for _, c := range []struct {
		name string
		came []obd.Exchange
		busy bool
	}{
		{"a reply", []obd.Exchange{asked(bundleLine)}, false},
		{"no data", []obd.Exchange{asked("NO DATA")}, false},
		{"no prompt", []obd.Exchange{silence}, true},
		{"stopped", []obd.Exchange{asked("STOPPED")}, true},
		{"unknown", []obd.Exchange{asked("?")}, true},
		{"freed by its answer", []obd.Exchange{silence, own("OK")}, false},
		{"freed by its name", []obd.Exchange{silence, ended("ATI", obd.EndPrompt, "ELM327 v1.5")}, false},
		{"silent to its own", []obd.Exchange{silence, ended(FreeCommand, obd.EndSilence)}, true},
		{"stopped by its own", []obd.Exchange{silence, own("STOPPED")}, true},
		{"one unknown", []obd.Exchange{silence, own("?")}, true},
		{"two unknown", []obd.Exchange{silence, own("?"), own("?")}, true},
		{"OK and more", []obd.Exchange{silence, own(bundleLine, "OK")}, true},
		{"another answer", []obd.Exchange{silence, own("ELM327 v1.5")}, true},
		{"OK instead of its name", []obd.Exchange{silence, ended(NameCommand, obd.EndPrompt, "OK")}, true},
		{"a reply instead of its name", []obd.Exchange{silence, ended(NameCommand, obd.EndPrompt, bundleLine)}, true},
		{"stopped by its own, not busy before", []obd.Exchange{own("STOPPED")}, true},
		{"busy again", []obd.Exchange{silence, own("OK"), silence}, true},
		{"a reply frees it", []obd.Exchange{silence, asked(bundleLine)}, false},
	} {
		var g guard
		for i := range c.came {
			g.note(&c.came[i], false)
		}
		if g.busy != c.busy {
			t.Errorf("%s: busy %v", c.name, g.busy)
		}
	}
}

// Spaces lead in where the adapter takes them: not before requests that it then does not know.
func TestGuard_LeadIn(t *testing.T) {
	known, unknown := ended("010C", obd.EndPrompt, bundleLine), ended("010C", obd.EndPrompt, "?")
	setting := ended("ATS0", obd.EndPrompt, "?")
	for _, c := range []struct {
		name string
		came []obd.Exchange
		led  bool
	}{
		{"known", []obd.Exchange{known, known}, true},
		{"one unknown", []obd.Exchange{unknown}, true},
		{"two unknown", []obd.Exchange{unknown, unknown}, false},
		{"two unknown, not in a row", []obd.Exchange{unknown, known, unknown}, true},
		{"a setting counts for nothing", []obd.Exchange{unknown, setting, unknown}, false},
		{"settings alone", []obd.Exchange{setting, setting}, true},
	} {
		g := guard{led: true}
		for i := range c.came {
			g.note(&c.came[i], false)
		}
		if g.led != c.led || (g.lead("010C") != "") != c.led {
			t.Errorf("%s: led in %v", c.name, g.led)
		}
	}
}

// A refusal of what is left of a request (7F, service, code; ISO 14229-1) shows that the adapter lost
// its beginning. The layouts are those of ISO 15765-4, ISO 14230-2 and ISO 9141-2.
func TestGuard_RefusesRest(t *testing.T) {
	for _, c := range []struct {
		request, line string
		loses         bool
	}{
		{"0902", "7E8037F9011AAAAAAAA", true},
		{"0902", "7E8037F9011", true},
		{"010C0D1", "7E8 03 7F 10 12", true},
		{"010C0D1", "18DAF110037FC011AAAAAAAA", true},
		{"0904", "7F0411", true},
		{"0904", "83F1107F041119", true},
		{"0902", "7E8037F0912AAAAAAAA", false}, // of the request itself
		{"0902", "7E8037F0212AAAAAAAA", false}, // of one that was asked before, late
		{"0902", "7E8037F2711AAAAAAAA", false}, // of another tester's request
		{"010C0F", "410C1B7F0F28<DATA ERROR", false},
		{"010C0F", "410C1B7F0F28", false},
		{"010C0D", "7E806410C7F100D50AA", false},
		{"010C0D", "NO DATA", false},
	} {
		var g guard
		x := ended(c.request, obd.EndPrompt, c.line)
		g.note(&x, false)
		if g.loses != c.loses || g.loses && g.ready("0100") {
			t.Errorf("%s after %s: loses %v", c.line, c.request, g.loses)
		}
	}
}
