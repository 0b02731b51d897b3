package session

// Backoff is the wait in ms before connection attempt n (from 0) with full
// jitter: anything between nothing and a bound that doubles, from 64 random
// bits. A shop that comes back so meets its phones spread out. serverRetry is
// Out.RetryIn; half of it again is added at random on top.
func Backoff(n int, random uint64, serverRetry int64) int64 {
	const first, most = 500, 30000
	bound := int64(most)
	if n < 6 {
		bound = first << n
	}
	if serverRetry > 0 {
		bound = serverRetry / 2
	}
	return serverRetry + int64(random%uint64(bound+1))
}
