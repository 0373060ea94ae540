package simcar

import (
	"math"
	"slices"
)

// Test ids and scaling of the misfire counters (SAE J1979 service $06 on CAN).
const (
	misfireGeneral  = 0xA1 // the cylinders follow: A2 is cylinder 1
	testAverage     = 0x0B // weighted average of the last ten drive cycles
	testCurrent     = 0x0C // this drive cycle
	scalingCounts   = 0x24 // one count per bit
	lastMisfireTest = 0xAD // cylinder 12
)

// LegacyTest is a test of service $06 on the older buses: numbers are the maker's.
type LegacyTest struct {
	TID          byte
	Component    byte // 00 to 7F
	Minimum      bool // Limit is the least and not the most
	Value, Limit uint16
}

// legacyTests is service $06 on the older buses (layout from memory of SAE J1979): the map of
// TIDs with FF in front, or 46 TID limit-type-and-component value limit, a message each.
func legacyTests(e *ECU, q *query) byte {
	tid := q.request[1]
	if len(e.LegacyTests) == 0 {
		return serviceNotSupported
	}
	if tid == 0 {
		m := supportMap(0, func(id byte) bool {
			return slices.ContainsFunc(e.LegacyTests, func(t LegacyTest) bool { return t.TID == id })
		})
		q.add(0x46, 0x00, 0xFF)
		q.extend(m[:]...)
		return 0
	}
	for _, t := range e.LegacyTests {
		if t.TID != tid {
			continue
		}
		component := t.Component & 0x7F
		if t.Minimum {
			component |= 0x80
		}
		q.add(0x46, tid, component, byte(t.Value>>8), byte(t.Value), byte(t.Limit>>8), byte(t.Limit))
	}
	if len(q.messages) == 0 {
		return subFunctionNotSupported
	}
	return 0
}

// testResults is service $06: on CAN support maps and the misfire counters, each as a
// record MID TID scaling value low high.
func testResults(e *ECU, q *query) byte {
	switch {
	case len(q.request) != 2:
		return wrongLength
	case !q.can:
		return legacyTests(e, q)
	}
	cylinders := min(len(e.Misfires), lastMisfireTest-misfireGeneral)
	last := byte(misfireGeneral + cylinders)
	has := func(mid byte) bool {
		return cylinders > 0 && (mid >= misfireGeneral && mid <= last || mid%0x20 == 0 && mid <= 0xA0)
	}
	mid := q.request[1]
	switch {
	case mid%0x20 == 0 && (mid == 0 || has(mid)):
		m := supportMap(mid, has)
		q.add(0x46, mid)
		q.extend(m[:]...)
	case !has(mid):
		return requestOutOfRange
	default:
		counts := e.misfireOf(int(mid)-misfireGeneral, q.condition)
		q.add(0x46)
		q.extendWithTest(mid, testAverage, counts.Average)
		q.extendWithTest(mid, testCurrent, counts.Current)
	}
	return 0
}

// extendWithTest adds one record of nine bytes; the limits leave every count to pass.
func (q *query) extendWithTest(mid, tid byte, value uint16) {
	q.extend(mid, tid, scalingCounts, byte(value>>8), byte(value), 0x00, 0x00, 0xFF, 0xFF)
}

// misfireOf is the pair of counters of a cylinder, counted from 1; 0 is all together.
func (m *Memory) misfireOf(cylinder int, now *Condition) Misfire {
	if cylinder == 0 {
		var average, current int
		for i := range m.Misfires {
			one := m.misfireOf(i+1, now)
			average += int(one.Average)
			current += int(one.Current)
		}
		return Misfire{uint16(min(average, math.MaxUint16)), uint16(min(current, math.MaxUint16))}
	}
	counts := m.Misfires[cylinder-1]
	if cylinder <= len(now.Misfires) {
		counts.Current = now.Misfires[cylinder-1]
	}
	return counts
}
