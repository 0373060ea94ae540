package read

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/dtc"
)

// componentTest is the self-test of the components in the readiness reply, the one that has no
// results of service 06 (SAE J1979).
const componentTest = 2

// readiness reads which self-tests have run, how many codes each ECU counts, and how long ago
// codes were cleared.
func (c *checker) readiness() error {
	err := c.params.ask(pidMonitors, check.ItemReadiness, func(e *check.ECU, part pids.Part) error {
		status, err := pids.MonitorStatus(pidMonitors, part.Data)
		if err == nil {
			c.take(e, &status)
		}
		return err
	})
	if err != nil {
		return err
	}
	c.fill()
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		c.lists.weighCount(e)
		if e.Lamp == nil && c.params.maps.of(e.ID, pidMonitors) {
			c.lists.doubt(e)
		}
	}
	return c.counters()
}

// take keeps a readiness reply. Where the adapter hides who answers, the lamp is on when one of
// them commands it, and the highest count is kept.
func (c *checker) take(e *check.ECU, status *pids.Readiness) {
	lamp := status.MIL || e.Lamp != nil && *e.Lamp
	e.Lamp, e.CodesCounted = &lamp, max(e.CodesCounted, status.Codes)
	for i, t := range status.Tests {
		if t.Available && t.Name != "" {
			ready(e, check.Monitor{Name: t.Name, Complete: t.Complete})
			if i != componentTest {
				c.tests.has(e.ID)
			}
		}
	}
}

// ready keeps a self-test; of two of one name, where the adapter hides whose they are, the one
// that is not complete counts.
func ready(e *check.ECU, m check.Monitor) {
	for i := range e.Readiness {
		if e.Readiness[i].Name == m.Name {
			e.Readiness[i].Complete = e.Readiness[i].Complete && m.Complete
			return
		}
	}
	e.Readiness = append(e.Readiness, m)
}

// weighCount compares the codes that an ECU reported with how many it says that it stores: a
// lost reply looks like an empty list.
func (c *codeLists) weighCount(e *check.ECU) {
	n := c.repeated[e.ID]
	for i := range e.Codes {
		if e.Codes[i].State == dtc.Stored {
			n++
		}
	}
	if c.successor || c.r.Nameless || e.CodesCounted <= n || e.Lists[check.ListStored].Kind != check.Read {
		return
	}
	e.Lists[check.ListStored] = check.Outcome{Kind: check.FewerReported, N: n, Of: e.CodesCounted}
	c.note(e.ID, check.ListStored.Item(), e.Lists[check.ListStored])
}

// doubt takes the silence of an ECU for "none" no longer: it is silent to all.
func (c *codeLists) doubt(e *check.ECU) {
	for _, list := range []check.List{check.ListStored, check.ListPending} {
		if slices.Contains(c.silent, silentList{e.ID, list}) {
			e.Lists[list] = check.Of(check.SilentToAll)
			c.note(e.ID, list.Item(), e.Lists[list])
		}
	}
}

// counters reads what ECUs were built to, and how far and how long ago codes were cleared.
func (c *checker) counters() error {
	for _, n := range []struct {
		pid  byte
		item check.ItemKind
		put  func(e *check.ECU, v pids.Value)
	}{
		{pidRegulation, check.ItemRegulation, func(e *check.ECU, v pids.Value) {
			e.Regulation = cmp.Or(v.Field.Text(v.Value), fmt.Sprintf("regulation %.0f, which no list here names", v.Value))
		}},
		{pidWarmUps, check.ItemWarmUps, func(e *check.ECU, v pids.Value) { since(e).WarmUps = &v.Value }},
		{pidClearedKM, check.ItemClearedKM, func(e *check.ECU, v pids.Value) { since(e).KM = &v.Value }},
		{pidClearedMin, check.ItemClearedMinutes, func(e *check.ECU, v pids.Value) { since(e).Minutes = &v.Value }},
		{pidOdometer, check.ItemOdometer, func(e *check.ECU, v pids.Value) { e.OdometerKM = v.Value }},
	} {
		if err := c.params.ask(n.pid, n.item, func(e *check.ECU, part pids.Part) error {
			values, err := part.PID.Append(nil, part.Data)
			if err == nil && len(values) > 0 {
				n.put(e, values[0])
			}
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

func since(e *check.ECU) *check.Cleared {
	if e.Cleared == nil {
		e.Cleared = &check.Cleared{}
	}
	return e.Cleared
}
