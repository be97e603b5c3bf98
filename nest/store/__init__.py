"""The store's ledger in one SQLite file: movements are only ever added, balances are sums of them."""
