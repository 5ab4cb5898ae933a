mod quantile;
