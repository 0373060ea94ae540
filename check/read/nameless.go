package read

import "slices"

// named are ECUs in order, the engine's first (ISO 15765-4). One reply that lost its header on
// the way makes no ECU without a name beside those that have one.
func named(ids []string) []string {
	ids = slices.Sorted(slices.Values(ids))
	if len(ids) > 1 && ids[0] == "" {
		return ids[1:]
	}
	return ids
}

// separate has ECUs told apart whose replies come without headers. Where that fails, all are one in
// the report, which says so: nothing of them is known to be whole.
func (c *checker) separate() error {
	if !c.q.Mixed() {
		return nil
	}
	if err := c.q.Separate(); err != nil {
		return err
	}
	if c.r.Nameless = c.q.Mixed(); !c.r.Nameless {
		c.r.ECUs = nil
		for _, id := range named(c.q.ECUs()) {
			c.r.ECU(id)
		}
	}
	return nil
}
