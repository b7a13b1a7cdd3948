// Package bench is what load is made and measured with: a client that costs
// little beside the server it asks, a robot's visit as requests, and a series of
// times. It speaks HTTP only and knows nothing of the inside of the server, so
// that it measures others in the same way.
package bench
