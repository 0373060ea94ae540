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
// that it did not know; only an answer to a command of its own shows that it is free. One "?" may
// answer what is left of a command, two do not. From the texts of the ELM327 data sheet, pp. 87-90.
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
		{"two unknown", []obd.Exchange{silence, own("?"), own("?")}, false},
		{"two unknown, a silence between", []obd.Exchange{silence, own("?"), ended(FreeCommand, obd.EndSilence), own("?")}, true},
		{"busy again", []obd.Exchange{silence, own("OK"), silence}, true},
		{"a reply frees it", []obd.Exchange{silence, asked(bundleLine)}, false},
	} {
		var g guard
		for i := range c.came {
			g.note(&c.came[i])
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
			g.note(&c.came[i])
		}
		if g.led != c.led || (g.lead() != "") != c.led {
			t.Errorf("%s: led in %v", c.name, g.led)
		}
	}
}
