# Fits step responses again, with R's own distributions and optimiser.
# Usage: Rscript step-fit.R READINGS.csv, with the columns step, tanks, transit, tau, second, value. `tanks` is the shape
# of the dispersion that the program chose (Inf: Gaussian; 0: none), `transit` and `tau` say where to begin.
# Prints for each step: transit, dispersion, tau, levels before and after, residual standard deviation.
arrived <- function(late, sigma, tanks) {
  if (is.infinite(tanks)) return(pnorm(late / sigma))
  pgamma(late + sqrt(tanks) * sigma, tanks, scale = sigma / sqrt(tanks))
}
missing_share <- function(late, sigma, tau, tanks) {
  if (is.infinite(tanks)) {
    return(exp(sigma^2 / (2 * tau^2) - late / tau + pnorm(late / sigma - sigma / tau, log.p = TRUE)))
  }
  theta <- sigma / sqrt(tanks)
  begun <- pmax(late + tanks * theta, 0)
  exp(-begun / tau) * (1 - theta / tau)^(-tanks) * pgamma(begun * (1 / theta - 1 / tau), tanks)
}
share <- function(second, transit, sigma, tau, tanks) {
  late <- second - transit
  if (tanks == 0) return(ifelse(late <= 0, 0, -expm1(-late / tau)))
  arrived(late, sigma, tanks) - missing_share(late, sigma, tau, tanks)
}
# nls stops at the accuracy of its numeric derivatives; Gauss-Newton steps by QR finish what it began.
control <- nls.control(maxiter = 500, tol = 1e-4, minFactor = 1e-12, nDcentral = TRUE)
finish <- function(parameters, curve, values) {
  for (round in 1:30) {
    slopes <- sapply(seq_along(parameters), function(index) {
      width <- 1e-5 * max(abs(parameters[index]), 0.01)
      high <- low <- parameters
      high[index] <- high[index] + width
      low[index] <- low[index] - width
      (curve(high) - curve(low)) / (2 * width)
    })
    parameters <- parameters + qr.coef(qr(slopes), values - curve(parameters))
  }
  parameters
}
number <- function(value) formatC(value, digits = 17, format = "g")

readings <- read.csv(commandArgs(trailingOnly = TRUE)[1], comment.char = "#")
cat("#", R.version.string, "\n")
cat("step,transit,dispersion,tau,before,after,deviation\n")
for (step in unique(readings$step)) {
  one <- readings[readings$step == step, ]
  data <- one[, c("second", "value")]
  tanks <- one$tanks[1]
  start <- list(before = one$value[1], after = tail(one$value, 1), transit = one$transit[1], tau = one$tau[1])
  if (tanks == 0) {
    curve <- function(p) p["before"] + (p["after"] - p["before"]) * share(data$second, p["transit"], 0, p["tau"], 0)
    fit <- nls(value ~ before + (after - before) * share(second, transit, 0, tau, 0), data, start, control)
  } else {
    start$sigma <- 0.2 * start$tau
    curve <- function(p) {
      p["before"] + (p["after"] - p["before"]) * share(data$second, p["transit"], p["sigma"], p["tau"], tanks)
    }
    fit <- nls(value ~ before + (after - before) * share(second, transit, sigma, tau, tanks), data, start, control)
  }
  found <- finish(coef(fit), curve, data$value)
  dispersion <- if (tanks == 0) 0 else found["sigma"]
  deviation <- sqrt(sum((data$value - curve(found))^2) / (nrow(data) - length(found)))
  result <- c(found["transit"], dispersion, found["tau"], found["before"], found["after"], deviation)
  cat(paste(c(step, number(result)), collapse = ","), "\n", sep = "")
}
